import { isRefusal, refuse, type Refusal } from '@ebbline/core/quantity';
import { redFlags, settings, type RedFlag, type WatchSetting } from '@ebbline/core/record';

/**
 * Every input that a protocol may ask for: once, with type, unit, what is allowed and a sentence for people. The
 * facts fill them; a protocol file may use no other names.
 *
 * Source    ranges keep out slips of the pen, they are no clinical limits (S-protocol-input-ranges)
 */
export const triggers = [
  'watch-opened',
  'reading',
  'void',
  'drained',
  'catheter-removed',
  'time',
  'symptom',
] as const;
export type Trigger = (typeof triggers)[number];
export const volumeKinds = ['exact', 'at-least', 'none-obtained', 'missing'] as const;
export type VolumeKind = (typeof volumeKinds)[number];
export const relations = ['before-void', 'after-void', 'unknown'] as const;
export type Relation = (typeof relations)[number];
export const ageBands = ['child', 'adult', 'over-75'] as const;
export type AgeBand = (typeof ageBands)[number];
export const overLimits = ['no', 'possible', 'yes'] as const;
export type OverLimit = (typeof overLimits)[number];
export const doNotDrains = [
  'none',
  'recent-urethral-or-bladder-surgery',
  'stricture',
  'refusal',
  'reading-unreliable',
] as const;
export type DoNotDrain = (typeof doNotDrains)[number];
export const trusts = ['good', 'doubtful', 'low-bound-only', 'unreliable'] as const;
export type Trust = (typeof trusts)[number];
export const protocolRedFlags = ['none', ...redFlags] as const;
export type ProtocolRedFlag = 'none' | RedFlag;

export interface ProtocolInput {
  readonly trigger: Trigger;
  readonly setting: WatchSetting;
  readonly volumeMl?: number;
  readonly volumeKind: VolumeKind;
  readonly relation: Relation;
  readonly sinceVoidMin?: number;
  readonly sinceEmptiedMin?: number;
  readonly discomfort: boolean;
  readonly redFlag: ProtocolRedFlag;
  readonly voidedMl?: number;
  readonly residualMl?: number;
  readonly residualLate: boolean;
  readonly voidingEfficiencyPercent?: number;
  readonly crossingInMin?: number;
  readonly looksSoFar: number;
  readonly drainsSoFar: number;
  readonly voidsSoFar: number;
  readonly lowResidualsInARow: number;
  readonly ageBand: AgeBand;
  readonly limitMl: number;
  readonly ownCapacityMl?: number;
  readonly overLimit: OverLimit;
  readonly doNotDrain: DoNotDrain;
  readonly catheterInPlace: boolean;
  readonly sinceCatheterOutMin?: number;
  readonly instilledMl?: number;
  readonly voidedOfInstilledPercent?: number;
  readonly trust: Trust;
  readonly hourOfDay?: number;
}

export type InputName = keyof ProtocolInput;

export interface DictionaryEntry {
  readonly kind: 'number' | 'choice' | 'flag';
  /** May be missing: not known, or not asked for. */
  readonly optional: boolean;
  /** For numbers. */
  readonly unit?: string;
  readonly min?: number;
  readonly max?: number;
  /** For choices. */
  readonly options?: readonly string[];
  readonly sentence: string;
}

const measure = (unit: string, max: number, sentence: string, min = 0): DictionaryEntry => ({
  kind: 'number',
  optional: true,
  unit,
  min,
  max,
  sentence,
});
const count = (sentence: string): DictionaryEntry => ({
  kind: 'number',
  optional: false,
  unit: 'times',
  min: 0,
  max: 1000,
  sentence,
});
const one = (options: readonly string[], sentence: string): DictionaryEntry => ({
  kind: 'choice',
  optional: false,
  options,
  sentence,
});
const yesNo = (sentence: string): DictionaryEntry => ({ kind: 'flag', optional: false, sentence });
/** Thirty days: a watch is shorter. */
const longestMin = 43_200;
/** Well above any own capacity on record, 1600 mL (S-clinical-C16), so that a huge drain still fits. */
const largestMl = 5000;

/** More than ten times what was put in says the same as ten times. */
export const mostOfInstilledPercent = 1000; // S-protocol-input-ranges

export const dictionary: Readonly<Record<InputName, DictionaryEntry>> = {
  trigger: one(triggers, 'What has just happened. "time": a look is due now.'),
  setting: one(settings, 'Why this person is watched.'),
  volumeMl: measure(
    'mL',
    largestMl,
    'The volume just read; after a drain, the volume drained. Missing when there is none.',
  ),
  volumeKind: one(
    volumeKinds,
    'What the volume is: a number, a lower bound, tried without a number, or none asked for.',
  ),
  relation: one(relations, 'Whether the reading came before or after a void.'),
  sinceVoidMin: measure('min', longestMin, 'Minutes since the last void. Missing when not known.'),
  sinceEmptiedMin: measure(
    'min',
    longestMin,
    'Minutes since the bladder was last known to be emptied, or since the watch began. A void that was not measured does not count.',
  ),
  discomfort: yesNo('Pain, urge without passing, or restlessness now.'),
  redFlag: one(protocolRedFlags, 'The gravest sign present that needs a person at once.'),
  voidedMl: measure('mL', largestMl, 'The volume of the last void. Missing when it was not measured.'),
  residualMl: measure(
    'mL',
    largestMl,
    'What this reading found left after a void. Missing when the reading is not a residual.',
  ),
  residualLate: yesNo('The residual was read later after the void than the unit allows.'),
  voidingEfficiencyPercent: measure('%', 100, 'Voided volume as a share of voided plus residual.'),
  crossingInMin: measure(
    'min',
    longestMin,
    'Minutes until the limit could be reached at the earliest. Missing when not known.',
  ),
  looksSoFar: count('Readings in this watch, with this one.'),
  drainsSoFar: count('Times drained in this watch.'),
  voidsSoFar: count('Measured voids in this watch.'),
  lowResidualsInARow: count('Low residuals in a row, with this one.'),
  ageBand: one(ageBands, 'Child, adult, or over 75.'),
  limitMl: {
    kind: 'number',
    optional: false,
    unit: 'mL',
    min: 50,
    max: 2000,
    sentence: "This patient's action limit: own capacity, or the unit's number.",
  },
  ownCapacityMl: measure(
    'mL',
    largestMl,
    "This person's own bladder capacity, as measured. Missing when not known; the limit above keeps it within the unit's bounds.",
  ),
  overLimit: one(
    overLimits,
    'Whether the bladder holds the limit or more now, with the error of the reading counted.',
  ),
  doNotDrain: one(doNotDrains, 'A reason why a catheter needs a person to decide first.'),
  catheterInPlace: yesNo('A catheter is in the bladder now.'),
  sinceCatheterOutMin: measure(
    'min',
    longestMin,
    'Minutes since the catheter came out. Missing when there was none.',
  ),
  instilledMl: measure(
    'mL',
    largestMl,
    'What was put into the bladder to begin a void trial, while nothing has been passed since. Missing otherwise.',
  ),
  voidedOfInstilledPercent: measure(
    '%',
    mostOfInstilledPercent,
    'What was passed since, as a share of what was put in. Missing when nothing was put in, or a void was not measured.',
  ),
  trust: one(
    trusts,
    'How far the reading can be trusted. After a drain, "unreliable": far less drained than was read before.',
  ),
  hourOfDay: measure('h', 23, 'Hour on the ward clock.'),
};

export const inputNames = Object.keys(dictionary) as readonly InputName[];

/**
 * Checks an input against the dictionary.
 *
 * Errors    protocol/unknown-input · protocol/input-missing · protocol/input-type · protocol/input-range ·
 *           protocol/input-not-allowed · protocol/inputs-disagree
 */
export function readInput(given: unknown): ProtocolInput | Refusal {
  if (typeof given !== 'object' || given === null || Array.isArray(given)) {
    return refuse('protocol/input-type', {
      asked: 'Protocol input',
      found: 'no object',
      allowed: 'an object of named inputs',
      todo: 'Give the inputs by name.',
    });
  }
  const values = given as Readonly<Record<string, unknown>>;
  for (const name of Object.keys(values)) {
    if (!Object.hasOwn(dictionary, name)) {
      return refuse('protocol/unknown-input', {
        asked: 'Protocol input',
        found: `"${name.slice(0, 40)}"`,
        allowed: inputNames.join(', '),
        todo: 'Use one of these names; the unit stands in the name.',
        where: name.slice(0, 40),
      });
    }
  }
  for (const name of inputNames) {
    const trouble = troubleWith(name, values[name]);
    if (trouble) return trouble;
  }
  const input = Object.fromEntries(
    inputNames
      .filter((name) => values[name] !== undefined && values[name] !== null)
      .map((name) => [name, values[name]]),
  ) as unknown as ProtocolInput;
  const disagree = disagreement(input);
  return disagree ?? input;
}

function troubleWith(name: InputName, value: unknown): Refusal | undefined {
  const entry = dictionary[name];
  const make = (code: string, found: string, allowed: string): Refusal =>
    refuse(code, {
      asked: 'Protocol input',
      found,
      allowed,
      todo: 'Check the value and its unit.',
      where: name,
    });
  if (value === undefined || value === null) {
    return entry.optional ? undefined : make('protocol/input-missing', `no ${name}`, entry.sentence);
  }
  if (entry.kind === 'flag') {
    return typeof value === 'boolean'
      ? undefined
      : make('protocol/input-type', typeof value, 'true or false');
  }
  if (entry.kind === 'choice') {
    const options = entry.options ?? [];
    return typeof value === 'string' && options.includes(value)
      ? undefined
      : make(
          'protocol/input-not-allowed',
          typeof value === 'string' ? `"${value.slice(0, 40)}"` : typeof value,
          options.join(', '),
        );
  }
  const { min = 0, max = 0, unit = '' } = entry;
  const allowed = `a number from ${min} to ${max} ${unit}`;
  if (typeof value !== 'number' || !Number.isFinite(value))
    return make(
      'protocol/input-type',
      typeof value === 'number' ? 'no finite number' : typeof value,
      allowed,
    );
  return value >= min && value <= max ? undefined : make('protocol/input-range', `${value} ${unit}`, allowed);
}

function disagreement(input: ProtocolInput): Refusal | undefined {
  const needsVolume = input.volumeKind === 'exact' || input.volumeKind === 'at-least';
  if (needsVolume === (input.volumeMl !== undefined)) return undefined;
  return refuse('protocol/inputs-disagree', {
    asked: 'Protocol input',
    found: needsVolume
      ? `a volume of kind "${input.volumeKind}" without its number`
      : `${input.volumeMl} mL with kind "${input.volumeKind}"`,
    allowed: 'a number of mL with kind "exact" or "at-least", none with the other kinds',
    todo: 'Give the volume and its kind together.',
    where: 'volumeMl',
  });
}

/** True when a value could stand in this input; for checks of protocol files. */
export function isAllowed(name: InputName, value: unknown): boolean {
  return !isRefusal(troubleWith(name, value));
}
