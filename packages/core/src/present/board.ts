/** One patient as a row of the board: what is due, when, who has it, and where the content probably lies. */
import { ageInYears, hourMs, minuteMs } from '../quantity/index.ts';
import type { Directory } from '../record/index.ts';
import type { DueItem, PatientFacts } from '../facts/index.ts';
import * as labels from './labels.ts';
import { emptiedWords, forecastSentence, hasEstimate, nextStepSentence } from './sentences.ts';
import { aboutMl, clock, clockOrDay, duration, ownerWords, relative, whole } from './words.ts';

export interface BoardRow {
  readonly patient: string;
  readonly bed: string;
  readonly initials: string;
  readonly age: string;
  readonly group: 'now' | 'within-the-hour' | 'later' | 'no-look-due';
  readonly item: DueItem | undefined;
  readonly dueTime: string;
  /** Word for the state, such as "20 min overdue" or "in 25 min". */
  readonly dueWords: string;
  readonly mark: 'overdue' | 'due' | 'call' | 'paused' | 'catheter' | 'crossing' | 'none';
  readonly emptiedTime: string;
  readonly emptiedHow: string;
  readonly what: string;
  readonly who: string;
  readonly sentence: string;
  readonly bar:
    | {
        readonly kind: 'band';
        readonly lowMl: number;
        readonly innerLowMl: number;
        readonly likelyMl: number;
        readonly innerHighMl: number;
        readonly highMl: number;
        readonly words: string;
      }
    | { readonly kind: 'at-least'; readonly lowMl: number; readonly words: string }
    | { readonly kind: 'draining'; readonly words: string }
    | { readonly kind: 'not-known'; readonly words: string };
  readonly limitMl: number;
  /** Where it is likely to be when the look is due, mL. */
  readonly likelyWhenDueMl: number | undefined;
}

/** Within half a day a time of the night before needs no date: rows stay low, and no other such time is near. */
function shortTime(facts: PatientFacts, words: string, zone: string): string {
  const atMs = facts.lastEmptied?.atMs;
  return atMs !== undefined && facts.nowMs - atMs < 12 * hourMs ? clock(atMs, zone) : words;
}

/** Age in whole years from the record, or empty. The birthday begins in the zone given. */
export function ageWords(facts: PatientFacts, zone = 'UTC'): string {
  const { identity, nowMs } = facts;
  if (identity?.ageYears !== undefined) return String(identity.ageYears);
  if (identity?.birthDate === undefined) return '';
  return String(ageInYears(identity.birthDate, nowMs, zone) ?? '');
}

function barOf(facts: PatientFacts): BoardRow['bar'] {
  if (facts.catheter.inPlace && facts.catheter.status === 'draining')
    return { kind: 'draining', words: 'draining' };
  const { estimate } = facts;
  if ('notValid' in estimate)
    return {
      kind: 'not-known',
      words:
        estimate.notValid === 'ascites' || estimate.notValid === 'pelvic-mass'
          ? 'do not rely on readings'
          : 'estimate not valid',
    };
  if (estimate.informativeEntries === 0) return { kind: 'not-known', words: 'not known yet' };
  const last = facts.readings.at(-1);
  const sinceLast = last === undefined ? undefined : (facts.lastEmptied?.atMs ?? 0) < last.atMs;
  if (
    last &&
    sinceLast &&
    last.volumeMl !== undefined &&
    (last.result === 'at-least' || last.trust === 'low-bound-only')
  )
    return { kind: 'at-least', lowMl: last.volumeMl, words: `at least ${whole(last.volumeMl)}` };
  const { p05Ml, p25Ml, p50Ml, p75Ml, p95Ml } = estimate.content;
  return {
    kind: 'band',
    lowMl: p05Ml,
    innerLowMl: p25Ml,
    likelyMl: p50Ml,
    innerHighMl: p75Ml,
    highMl: p95Ml,
    words: `${aboutMl(p05Ml)}–${aboutMl(p95Ml)}`,
  };
}

export function boardRowOf(facts: PatientFacts, zone: string, directory?: Directory): BoardRow {
  // Items stand in order of their due times, and one grace holds for all of them: what is overdue comes first.
  const [item] = facts.due;
  const emptied = emptiedWords(facts, zone);
  const soon = item !== undefined && item.dueAtMs - facts.nowMs <= hourMs;
  const group =
    item === undefined
      ? 'no-look-due'
      : item.overdue
        ? 'now'
        : item.kind.startsWith('catheter') && !soon
          ? 'no-look-due'
          : soon
            ? 'within-the-hour'
            : 'later';
  const mark =
    item === undefined
      ? 'none'
      : item.kind === 'call-reply'
        ? 'call'
        : item.overdue
          ? 'overdue'
          : item.kind === 'return'
            ? 'paused'
            : item.kind.startsWith('catheter')
              ? 'catheter'
              : item.broughtForward
                ? 'crossing'
                : 'due';
  const estimate = hasEstimate(facts) ? facts.estimate : undefined;
  const hours = item === undefined ? 0 : Math.max(0, (item.dueAtMs - facts.nowMs) / hourMs);
  return {
    patient: facts.patient,
    bed: facts.bed,
    initials: facts.initials,
    age: ageWords(facts, zone),
    group,
    item,
    dueTime: item === undefined ? '' : clockOrDay(item.dueAtMs, facts.nowMs, zone),
    dueWords:
      item === undefined
        ? 'nothing due'
        : item.kind === 'call-reply' && item.overdue
          ? `no reply, ${duration((facts.nowMs - (facts.calls.find((one) => one.id === item.because)?.atMs ?? item.dueAtMs)) / minuteMs)}`
          : item.overdue
            ? `${duration(item.overdueMin)} overdue`
            : relative(item.dueAtMs, facts.nowMs),
    mark,
    emptiedTime: shortTime(facts, emptied.time, zone),
    emptiedHow: emptied.how,
    what:
      item === undefined
        ? 'Nothing due'
        : item.kind === 'look' || item.kind === 'step'
          ? labels.steps[item.step]
          : labels.dueKinds[item.kind],
    who:
      item === undefined
        ? ownerWords(facts.owner, directory)
        : `${ownerWords(item.owner, directory)}${item.climbed === 'owner' ? '' : item.climbed === 'charge-nurse' ? ', and the charge nurse' : ', the charge nurse, the unit’s notice'}`,
    sentence: item === undefined ? forecastSentence(facts, zone) : nextStepSentence(item, facts, zone),
    bar: barOf(facts),
    limitMl: facts.limitMl,
    likelyWhenDueMl:
      estimate && item && !facts.catheter.inPlace
        ? estimate.content.p50Ml + estimate.rateMlPerH.p50 * hours
        : undefined,
  };
}
