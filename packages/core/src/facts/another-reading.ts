/**
 * A reading whose own error leaves its side of this patient's limit open, and what another one would bring.
 *
 * Units     mL, min; probabilities 0 to 1
 * Not for   a view that was cut or doubted: then the aim matters more than the number
 */
import { isRefusal, minuteMs, type EntryId } from '../quantity/index.ts';
import { readAgain, readingStandardDeviationMl, wouldErrorMatter, type ReadAgain } from '../filling/index.ts';
import type { PatientFacts } from './types.ts';

export interface AnotherReading {
  readonly volumeMl: number;
  readonly lineMl: number;
  readonly standardDeviationMl: number;
  readonly otherSideProbability: number;
  /** By the same person, and by somebody else. */
  readonly same: ReadAgain;
  readonly other: ReadAgain;
}

/** Undefined when the reading is no toss-up. */
export function anotherReading(
  volumeMl: number,
  doubts: readonly string[],
  { limitMl, settings }: Pick<PatientFacts, 'limitMl' | 'settings'>,
): AnotherReading | undefined {
  const standardDeviationMl = readingStandardDeviationMl(volumeMl, doubts);
  const question = { volumeMl, standardDeviationMl, lineMl: limitMl };
  const matter = wouldErrorMatter(question);
  if (isRefusal(matter) || matter.verdict !== 'toss-up') return undefined;
  const same = readAgain({ ...question, sharedShare: settings.repeatSharedShare });
  const other = readAgain({ ...question, sharedShare: settings.repeatSharedByOtherShare });
  if (isRefusal(same) || isRefusal(other)) return undefined;
  return { ...question, otherSideProbability: matter.otherSideProbability, same, other };
}

/**
 * The same for the last reading, while it stands alone and is fresh: nothing passed or drained since, not repeated, and
 * not older than a pair may be apart.
 */
export function openReading(
  facts: PatientFacts,
): (AnotherReading & { readonly entryId: EntryId }) | undefined {
  const { readings, settings, nowMs } = facts;
  const last = readings.at(-1);
  if (last?.volumeMl === undefined || last.result !== 'exact' || last.trust !== 'good') return undefined;
  const { atMs } = last;
  const repeated = readings.some(
    (one) => one.id !== last.id && atMs - one.atMs <= settings.duplicateWithinMin * minuteMs,
  );
  const emptied = [...facts.voids, ...facts.drains].some((one) => one.atMs >= atMs);
  const stale = nowMs - atMs > settings.pairWithinMin * minuteMs;
  if (repeated || emptied || stale || facts.catheter.inPlace || 'notValid' in facts.estimate)
    return undefined;
  const found = anotherReading(last.volumeMl, last.doubts, facts);
  return found === undefined ? undefined : { ...found, entryId: last.id };
}
