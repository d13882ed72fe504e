/** One condition of a protocol as a printed sheet says it: short, with its unit, names of earlier answers in words. */
import type { CompiledRange, CompiledTest, Scalar } from '../compile-table.ts';
import { dictionary, type InputName } from '../dictionary.ts';
import { inputWords, patientWords, plain } from '../words/index.ts';
import { stateWords } from '../words/state-words.ts';

/** What a number is called where its unit follows. */
const numberNames: Readonly<Record<string, string>> = {
  volumeMl: 'volume',
  residualMl: 'residual',
  voidedMl: 'voided volume',
  limitMl: 'limit',
  ownCapacityMl: 'own capacity',
  sinceVoidMin: 'last void, ago',
  sinceEmptiedMin: 'emptied, ago',
  sinceCatheterOutMin: 'catheter out for',
  crossingInMin: 'limit could be reached in',
  voidingEfficiencyPercent: 'voiding efficiency',
  drainsSoFar: 'drains so far',
  voidsSoFar: 'measured voids so far',
  looksSoFar: 'looks so far',
  instilledMl: 'put into the bladder',
  voidedOfInstilledPercent: 'passed of what was put in:',
  lowResidualsInARow: 'low residuals in a row',
  hourOfDay: 'hour of the day',
};

/** What a missing number says where "not known" would mislead. */
const missing: Readonly<Record<string, string>> = {
  instilledMl: 'nothing put in is waiting',
  voidedOfInstilledPercent: 'share passed of what was put in not known',
};
const present: Readonly<Record<string, string>> = { instilledMl: 'what was put in is waiting' };

const volumeKinds: Readonly<Record<string, string>> = {
  exact: 'an exact number',
  'at-least': 'a lower bound',
  'none-obtained': 'tried, without a number',
  missing: 'nothing read',
};

const trusts: Readonly<Record<string, string>> = {
  good: 'fully trusted',
  doubtful: 'doubtful',
  'low-bound-only': 'trusted as a lower bound only',
  unreliable: 'unreliable',
};

function numbers({ from, fromIn, to, toIn }: CompiledRange, isCount: boolean): string {
  // Of whole numbers the one below is said: "at most 1" for "under 2".
  if (from === undefined && to !== undefined)
    return isCount ? `at most ${toIn ? to : Math.ceil(to) - 1}` : `${toIn ? 'at most' : 'under'} ${to}`;
  if (to === undefined) return `${fromIn ? 'at least' : 'above'} ${from ?? 0}`;
  const low = fromIn ? `${from ?? 0}` : `above ${from ?? 0}`;
  return toIn ? `${low} to ${to}` : `${low} to under ${to}`;
}

const endsOf = (test: Exclude<CompiledTest, 0>): readonly number[] =>
  'not' in test
    ? []
    : [
        ...(test.in ?? []),
        ...(test.ranges ?? []).flatMap((range) => [range.from ?? null, range.to ?? null]),
      ].filter((end) => typeof end === 'number');

const inHours = ({ from, to, ...ends }: CompiledRange): CompiledRange => ({
  ...ends,
  ...(from === undefined ? {} : { from: from / 60 }),
  ...(to === undefined ? {} : { to: to / 60 }),
});

/** Answers of the second table that stand for any number, whatever it is worth. */
const withNumber = ['lower-bound', 'doubtful', 'good'];

const listed = (words: readonly string[]): string => words.join(' or ');

function oneValue(name: string, value: Scalar): string {
  if (value === null) return `${inputWords(name)} not known`;
  if (name === 'volumeKind') return volumeKinds[String(value)] ?? plain(value);
  if (name === 'trust') return trusts[String(value)] ?? plain(value);
  if (name === 'doNotDrain' && value === 'reading-unreliable') return 'a reason not to rely on readings';
  if (name === 'ageBand') return value === 'over-75' ? 'over 75' : String(value);
  const [words] = patientWords({ [name]: value });
  return (words ?? plain(value)).replace(/^red flag: /, '');
}

/** Nothing for "anything"; else the condition, such as `volume 250 to 400 mL` or `just read`. */
export function conditionWords(name: string, test: CompiledTest): string {
  if (test === 0) return '';
  if (!Object.hasOwn(dictionary, name)) {
    const states = 'not' in test ? test.not : (test.in ?? []);
    if (
      name === 'Number' &&
      !('not' in test) &&
      states.length === withNumber.length &&
      withNumber.every((one) => states.includes(one))
    )
      return 'a number';
    return `${'not' in test ? 'not: ' : ''}${listed(states.map((value) => stateWords(name, value)))}`;
  }
  const entry = dictionary[name as InputName];
  if (entry.kind === 'number') {
    const label = numberNames[name] ?? inputWords(name).split(',')[0] ?? name;
    if ('not' in test) return `${label} known`;
    const isCount = entry.unit === 'times';
    const hours = entry.unit === 'min' && endsOf(test).every((end) => end % 60 === 0 && end >= 120);
    const unit = isCount || entry.unit === undefined ? '' : hours ? ' h' : ` ${entry.unit}`;
    const known = [
      ...(test.in ?? [])
        .filter((value) => typeof value === 'number')
        .map((value) => String(hours ? value / 60 : value)),
      ...(test.ranges ?? []).map((range) => numbers(hours ? inHours(range) : range, isCount)),
    ];
    const [only] = test.ranges ?? [];
    const whole = known.length === 1 && only?.from === entry.min && only?.fromIn && only.to === undefined;
    if (whole) return test.in?.includes(null) ? '' : (present[name] ?? `${label} known`);
    if (known.length === 0) return missing[name] ?? `no ${label} known`;
    if (isCount && known.length > 0)
      return known.join() === 'at most 0' ? `no ${label}` : `${known.join(' or ')} ${label}`;
    return `${label} ${known.join(', ')}${unit}${test.in?.includes(null) ? ' or not known' : ''}`;
  }
  const options: readonly Scalar[] = entry.kind === 'flag' ? [false, true] : (entry.options ?? []);
  const fits = options.filter((value) =>
    'not' in test ? !test.not.includes(value) : test.in?.includes(value),
  );
  if (name === 'doNotDrain' && fits.length === options.length - 1 && !fits.includes('none'))
    return 'a reason against a catheter';
  const others = options.filter((value) => !fits.includes(value));
  return others.length < fits.length && fits.length > 2
    ? `unless ${listed(others.map((value) => oneValue(name, value)))}`
    : listed(fits.map((value) => oneValue(name, value)));
}

/** All conditions of a row, in the order of its columns; empty when anything fits. */
export const rowWords = (inputs: readonly string[], tests: readonly CompiledTest[]): string =>
  inputs
    .map((name, column) => conditionWords(name, tests[column] ?? 0))
    .filter((words) => words !== '')
    .join(', ');
