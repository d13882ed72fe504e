/**
 * Why the estimate says what it says: the entries behind a statement, and the sum in words. The sum is the plain one that
 * a person can do; where the estimate differs, both stand there.
 */
import { hourMs, instantMs } from '../quantity/index.ts';
import type { FillingEstimate } from '../filling/index.ts';
import {
  countsFromMs,
  observationsOf,
  type AnotherReading,
  type DueItem,
  type PatientFacts,
  type ResidualFact,
} from '../facts/index.ts';
import type { Directory, Entry } from '../record/index.ts';
import { roles } from './labels.ts';
import { hasEstimate } from './sentences.ts';
import { lowScannersOf, scannerName } from './device-error.ts';
import { timelineRows } from './timeline.ts';
import type { WhyRows } from './why-rows.ts';
import { aboutMl, clockOrDay, duration, theirs, whole } from './words.ts';

export interface Why {
  /** Latest first. */
  readonly rows: WhyRows;
  readonly sum: readonly string[];
}

const liveOf = (facts: PatientFacts): readonly Entry[] =>
  facts.timeline.filter((one) => one.standing.state === 'live').map((one) => one.entry);

/** Entries that tell the estimate something: each by itself gives an observation. */
const tellsEstimate = (entry: Entry): boolean => observationsOf([entry], Number.POSITIVE_INFINITY).length > 0;

function rowsOf(
  facts: PatientFacts,
  ids: ReadonlySet<string>,
  zone: string,
  directory: Directory | undefined,
): Why['rows'] {
  return timelineRows(facts, zone, directory)
    .filter((row) => !row.setAside && ids.has(row.id))
    .toReversed();
}

/** Percent without a digit that nobody needs: `under 1 %`, `5 %`. */
const percentWords = (share: number): string =>
  share < 0.01 ? 'under 1 %' : share > 0.99 ? 'over 99 %' : `${Math.round(share * 100)} %`;

/** The last known content, and what a person would add to it. */
function plainSum(facts: PatientFacts & { estimate: FillingEstimate }, zone: string): string {
  const at = (ms: number): string => clockOrDay(ms, facts.nowMs, zone);
  const { estimate } = facts;
  const reading = facts.readings.findLast((one) => one.volumeMl !== undefined);
  const drain = facts.drains.findLast((one) => one.route !== 'from-catheter');
  const drained = drain !== undefined && drain.atMs >= (reading?.atMs ?? Number.NEGATIVE_INFINITY);
  const from = drained
    ? { atMs: drain.atMs, volumeMl: 0, words: `Drained at ${at(drain.atMs)}, so little was left` }
    : reading?.volumeMl === undefined
      ? undefined
      : {
          atMs: reading.atMs,
          volumeMl: reading.volumeMl,
          words: `${reading.result === 'at-least' ? 'At least ' : ''}${whole(reading.volumeMl)} mL read at ${at(reading.atMs)}`,
        };
  if (from === undefined) return 'Nothing was read or drained yet, so it goes by what is usual here.';
  const voids = facts.voids.filter((one) => one.atMs > from.atMs && one.atMs <= facts.nowMs);
  const unmeasured = voids.filter((one) => one.volumeMl === undefined).length;
  const passedMl = voids.reduce((sum, one) => sum + (one.volumeMl ?? 0), 0);
  const hours = (facts.nowMs - from.atMs) / hourMs;
  const rate = Math.round(estimate.rateMlPerH.p50 / 5) * 5;
  const inflowMl = rate * hours;
  const passed = passedMl > 0 ? `; ${whole(passedMl)} mL were passed since` : '';
  const open =
    unmeasured > 0
      ? `; what was passed and not measured (${unmeasured === 1 ? 'once' : `${unmeasured} times`}) comes off`
      : '';
  return `${from.words}. ${duration(hours * 60)} at about ${whole(rate)} mL an hour give ${aboutMl(inflowMl)} mL more${passed}${open}: about ${aboutMl(Math.max(0, from.volumeMl + inflowMl - passedMl))} mL by plain sum.`;
}

/** Behind the forecast: what was measured, passed, drained and told, and how it adds up. Undefined without an estimate. */
export function whyForecast(facts: PatientFacts, zone: string, directory?: Directory): Why | undefined {
  if (!hasEstimate(facts) || facts.estimate.informativeEntries === 0) return undefined;
  const { content, overLimitProbability } = facts.estimate;
  const behind = liveOf(facts).filter((one) => countsFromMs(one) <= facts.nowMs && tellsEstimate(one));
  const drain = facts.drains.findLast((one) => one.route !== 'from-catheter');
  const older = drain !== undefined && behind.some((one) => instantMs(one.effectiveAt) < drain.atMs);
  return {
    rows: rowsOf(facts, new Set(behind.map((one) => one.id)), zone, directory),
    sum: [
      plainSum(facts, zone),
      `The estimate weighs each entry by its error, and counts on urine passed that nobody wrote down: about ${aboutMl(content.p50Ml)} mL now, nine times in ten between ${aboutMl(content.p05Ml)} and ${aboutMl(content.p95Ml)} mL.`,
      `The chance of being over ${theirs(facts)} limit of ${whole(facts.limitMl)} mL now is ${percentWords(overLimitProbability)}.`,
      ...(older && drain
        ? [`What was before the drain at ${clockOrDay(drain.atMs, facts.nowMs, zone)} counts little now.`]
        : []),
    ],
  };
}

/** Behind a due look: the forecast, and which time won. Undefined where the estimate has no part in it. */
export function whyDue(
  item: DueItem,
  facts: PatientFacts,
  zone: string,
  directory?: Directory,
): Why | undefined {
  const forecast = whyForecast(facts, zone, directory);
  if (forecast === undefined || item.kind !== 'look' || item.step !== 'look-again') return undefined;
  const at = (ms: number): string => clockOrDay(ms, facts.nowMs, zone);
  const rule = item.row ? `of rule ${item.row.id}` : 'set for this look';
  const tolerance = percentWords(facts.settings.overLimitTolerance);
  const limit = `${whole(facts.limitMl)} mL`;
  const signed = facts.settings.lengthening?.signed;
  const sum =
    item.broughtForward !== undefined
      ? `The time ${rule} is ${at(item.protocolDueAtMs)}. If nothing leaves, the chance of being over ${limit} reaches ${tolerance} at ${at(item.dueAtMs)}, which is earlier: so the look is due then.`
      : item.lengthened !== undefined
        ? `The usual time ${rule} is ${at(item.protocolDueAtMs)}, and the rule itself allows a later one. Until ${at(item.dueAtMs)} the chance of being over ${limit} stays under ${tolerance}${signed ? `; ${signed.name}, ${roles[signed.role].toLowerCase()}, has signed for using that` : ''}.`
        : `The time ${rule} is ${at(item.protocolDueAtMs)}. The forecast does not move it.`;
  const low = item.broughtForward === undefined ? [] : lowScannersOf(facts);
  const raised = low.map(
    (one) =>
      `${scannerName(one.scanner, directory)} reads about ${Math.round(-100 * one.bias.likely)} % low, so its readings were taken that much higher too: the earlier time counts.`,
  );
  return { rows: forecast.rows, sum: [sum, ...raised, ...forecast.sum] };
}

/** Behind a residual that was read late: the void, the reading, and what filled in between. */
export function whyResidual(
  residual: ResidualFact,
  facts: PatientFacts,
  zone: string,
  directory?: Directory,
): Why | undefined {
  const { carriedBackMl, sinceVoidMin, voidId, readingId, residualMl } = residual;
  if (!residual.late || residual.atLeast || carriedBackMl === undefined || sinceVoidMin === undefined)
    return undefined;
  const { plainRateLowMlPerH, plainRateHighMlPerH, residualWithinMin } = facts.settings;
  const inflow = [plainRateLowMlPerH, plainRateHighMlPerH].map((rate) => (rate * sinceVoidMin) / 60);
  return {
    rows: rowsOf(facts, new Set([readingId, ...(voidId === undefined ? [] : [voidId])]), zone, directory),
    sum: [
      `${Math.round(sinceVoidMin)} min lie between the void and the reading; in time would be ${residualWithinMin} min.`,
      `At ${plainRateLowMlPerH} to ${plainRateHighMlPerH} mL an hour ${Math.round(inflow[0] as number)} to ${Math.round(inflow[1] as number)} mL came in.`,
      `${whole(residualMl)} mL less that is about ${aboutMl(carriedBackMl.likely)} mL at the end of the void; with the reading’s own error ${aboutMl(carriedBackMl.low)} to ${aboutMl(carriedBackMl.high)} mL.`,
    ],
  };
}

/** Behind a sum that does not add up, which the question itself says: every entry in the stretch of time that it is about. */
export function whySpan(
  span: { readonly fromMs: number; readonly toMs: number },
  facts: PatientFacts,
  zone: string,
  directory?: Directory,
): Why {
  const inside = liveOf(facts).filter((one) => {
    const atMs = countsFromMs(one);
    return atMs >= span.fromMs && atMs <= span.toMs && tellsEstimate(one);
  });
  return {
    rows: rowsOf(facts, new Set(inside.map((one) => one.id)), zone, directory),
    sum: inside.length === 0 ? ['Nothing is on record for that time but what is being entered.'] : [],
  };
}

const hundred = (probability: number): string => `${Math.round(100 * probability)} in 100`;

/**
 * Behind what another reading would bring.
 *
 * @param entryId the reading, where it is kept already
 */
export function whyAnotherReading(
  another: AnotherReading,
  facts: PatientFacts,
  zone: string,
  directory?: Directory,
  entryId?: string,
): Why {
  const { volumeMl, lineMl, standardDeviationMl, otherSideProbability, same, other } = another;
  const { repeatSharedShare, repeatSharedByOtherShare } = facts.settings;
  const brings = (
    who: string,
    { changesProbability, settlesProbability, wrongSideBefore, wrongSideAfter }: typeof same,
  ) =>
    `Averaged with one more by ${who}: settled ${hundred(settlesProbability)}, on the other side ${hundred(changesProbability)}; the chance of acting on the wrong side falls from ${hundred(wrongSideBefore)} to ${hundred(wrongSideAfter)}.`;
  return {
    rows: entryId === undefined ? [] : rowsOf(facts, new Set([entryId]), zone, directory),
    sum: [
      `${whole(volumeMl)} mL lie ${whole(Math.abs(volumeMl - lineMl))} mL from ${theirs(facts)} limit of ${whole(lineMl)} mL. Readings of that size are off by about ${whole(standardDeviationMl)} mL (one standard deviation), so ${hundred(otherSideProbability)} that the truth is on the other side.`,
      brings('the same person', same),
      brings('somebody else', other),
      `A repeat has part of its error in common with the first: ${Math.round(100 * repeatSharedShare)} % by the same person, ${Math.round(100 * repeatSharedByOtherShare)} % by somebody else; the unit sets this. Settled means under 20 in 100 for the other side. A better aim may bring more than a repeat.`,
    ],
  };
}
