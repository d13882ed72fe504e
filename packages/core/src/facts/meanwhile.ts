/**
 * What a ward did not know for a while: entries that reached the record long after they happened, what became due or went
 * over its limit in those hours, and which decisions were made before such an entry was there. For putting things right,
 * not for blame.
 *
 * Units     instants ms; lateness min
 * Domain    one patient; entries with the instant at which the ward's record received them
 * Not for   what a person knew by other ways: a decision is listed when the record could not have told it
 */
import { controlIsOn, hourMs, instantMs, minuteMs } from '../quantity/index.ts';
import type { Entry, EntryKind, KeptEntry } from '../record/index.ts';
import type { DueItem, LateDetection, PastLook, PatientFacts } from './types.ts';

/** An entry that comes so long after it happened has come late: half an hour, as the timeline's own remark. S-common-practice */
export const cameLateMin = 30;

/** Answers of the program and acts of housekeeping: nobody waited for them. */
const nobodyWaits: ReadonlySet<EntryKind> = new Set([
  'step-advised',
  'practised',
  'protocol-moved',
  'overdue-acknowledged',
]);
/** Entries by which somebody, or the protocol for them, decided what happens next. */
const decisions: ReadonlySet<EntryKind> = new Set([
  'step-advised',
  'step-answered',
  'drained',
  'catheter-placed',
  'catheter-removed',
  'catheter-reviewed',
  'call-made',
  'watch-closed',
]);

export interface CameLate {
  readonly entry: Entry;
  readonly receivedAtMs: number;
  readonly lateMin: number;
  /** Made after it happened, by somebody to whom the record could not tell it yet. */
  readonly withoutIt: readonly Entry[];
}

export interface Meanwhile {
  readonly came: readonly CameLate[];
  /** Became due in these hours and is still open. */
  readonly due: readonly DueItem[];
  /** Was due in these hours and done late, or not at all. */
  readonly missed: readonly PastLook[];
  /** First found over the limit in these hours, or by what came late. */
  readonly over: readonly LateDetection[];
  /** When the limit was likely to be reached, by what was known when the hours began; only where that lies in them. */
  readonly expectedOverMs?: { readonly earliest: number; readonly likely?: number };
}

export interface MeanwhileRequest {
  /** Entries of this patient that stand, with when the record received them. */
  readonly kept: readonly KeptEntry[];
  /** Now. */
  readonly facts: PatientFacts;
  /** At the beginning of the hours, from what the record held then; absent when it held nothing of this patient. */
  readonly before?: PatientFacts | undefined;
  readonly fromMs: number;
  readonly toMs: number;
}

/** True when whoever made the decision could have seen the other entry: it was here, or on the same tablet, before. */
function couldKnow(decision: Entry, of: KeptEntry): boolean {
  if (!controlIsOn('H5-late-told')) return true;
  const madeMs = instantMs(decision.recordedAt);
  return (
    madeMs >= instantMs(of.receivedAt) ||
    (decision.madeOn === of.entry.madeOn && madeMs >= instantMs(of.entry.recordedAt))
  );
}

export function meanwhileOf({ kept, facts, before, fromMs, toMs }: MeanwhileRequest): Meanwhile {
  const live = new Set(
    facts.timeline.filter(({ standing }) => standing.state === 'live').map(({ entry }) => entry.id),
  );
  const standing = kept.filter(({ entry }) => live.has(entry.id));
  const within = (atMs: number): boolean => atMs >= fromMs && atMs <= toMs;
  const came = standing
    .flatMap((one): readonly CameLate[] => {
      const { entry } = one;
      const receivedAtMs = instantMs(one.receivedAt);
      const lateMin = (receivedAtMs - instantMs(entry.effectiveAt)) / minuteMs;
      if (!within(receivedAtMs) || lateMin < cameLateMin || nobodyWaits.has(entry.kind)) return [];
      const withoutIt = standing
        .map((other) => other.entry)
        .filter(
          (other) =>
            decisions.has(other.kind) &&
            other.id !== entry.id &&
            instantMs(other.effectiveAt) >= instantMs(entry.effectiveAt) &&
            !couldKnow(other, one),
        );
      return [{ entry, receivedAtMs, lateMin, withoutIt }];
    })
    .toSorted((a, b) => instantMs(a.entry.effectiveAt) - instantMs(b.entry.effectiveAt));
  const lateIds = new Set(came.map(({ entry }) => entry.id));
  const crossing =
    before === undefined || 'notValid' in before.estimate ? undefined : before.estimate.crossing;
  const earliest = crossing?.earliestAtMs;
  return {
    came,
    due: facts.due.filter((item) => within(item.dueAtMs)),
    missed: facts.pastLooks.filter(({ dueAtMs, outcome }) => within(dueAtMs) && outcome !== 'in-time'),
    over: facts.lateDetections.filter(({ atMs, byEntry }) => within(atMs) || lateIds.has(byEntry)),
    ...(earliest !== undefined && within(earliest) && !crossing?.alreadyOver
      ? {
          expectedOverMs: {
            earliest,
            ...(crossing?.likelyAtMs !== undefined && within(crossing.likelyAtMs)
              ? { likely: crossing.likelyAtMs }
              : {}),
          },
        }
      : {}),
  };
}

/** Whether there is anything to be told. */
export const anythingMeanwhile = (one: Meanwhile): boolean =>
  one.came.length + one.due.length + one.missed.length + one.over.length > 0 ||
  one.expectedOverMs !== undefined;

/** The longest stretch that is looked back on. S-common-practice */
export const longestMeanwhileMs = 7 * 24 * hourMs;
