/**
 * When the product would have the next look taken, from what stands in the chart: the same way that a ward log goes
 * when it is taken in (lines, entries, live entries, the instant at which the tolerance is reached).
 *
 * Units     ms; tolerance as a share
 * Source    S-wardlog-1
 */
import {
  estimateInputsOf,
  liveEntries,
  observationsOf,
  priorOf,
  resolveEntries,
  toleranceReachedMs,
  whyNotValid,
  type EstimateInputs,
} from '@ebbline/core/facts';
import {
  chanceReachedAtMs,
  estimateAt,
  limitLikelyAtMs,
  ownPrior,
  type ContentAt,
  type UnitFactors,
} from '@ebbline/core/filling';
import { isRefusal } from '@ebbline/core/quantity';
import { defaultSettings } from '@ebbline/core/record';
import { entriesOfMadeLines } from '@ebbline/replay';
import type { SimulatedLine } from '@ebbline/simulate';

/** What the record says of one patient from these lines. */
export function inputsOfLines(known: readonly SimulatedLine[], nowMs: number): EstimateInputs {
  const entries = entriesOfMadeLines(known);
  const patient = entries[0]?.patient ?? '';
  const live = liveEntries(resolveEntries(entries), patient, nowMs);
  return estimateInputsOf(live, { settings: defaultSettings });
}

/** As much of a day is looked ahead, min. */
const horizonMin = 24 * 60;

/**
 * The first instant at which the chance of being over the limit reaches the tolerance if nothing leaves; undefined beyond a
 * day. With a unit's own figures as without, but that the product has no place to keep them yet.
 */
export function toleranceInstantMs(
  inputs: EstimateInputs,
  tolerance: number,
  nowMs: number,
  factors?: UnitFactors,
): number | undefined {
  if (factors === undefined) return toleranceReachedMs(inputs, tolerance, nowMs);
  const observations = observationsOf(inputs.live, nowMs);
  const last = observations.findLast((one) => ['reading', 'void', 'drained', 'catheter'].includes(one.kind));
  if (whyNotValid(inputs) !== undefined || last === undefined) return undefined;
  const reached = limitLikelyAtMs({
    observations,
    prior: ownPrior(priorOf(inputs), factors),
    atMs: Math.min(last.atMs, nowMs),
    limitMl: inputs.limitMl,
    horizonMin,
    share: tolerance,
    clockAheadMs: inputs.clockAheadMs,
  });
  return isRefusal(reached) ? undefined : reached;
}

/** The first instant in a span at which that chance is reached as long as nothing more is charted; else the span's end. */
export function chanceInstantMs(
  inputs: EstimateInputs,
  tolerance: number,
  nowMs: number,
  span: { readonly fromMs: number; readonly untilMs: number },
  factors?: UnitFactors,
): number {
  if (whyNotValid(inputs) !== undefined) return span.untilMs;
  const prior = priorOf(inputs);
  const reached = chanceReachedAtMs({
    observations: observationsOf(inputs.live, nowMs),
    prior: factors === undefined ? prior : ownPrior(prior, factors),
    limitMl: inputs.limitMl,
    share: tolerance,
    clockAheadMs: inputs.clockAheadMs,
    ...span,
  });
  return isRefusal(reached) ? span.untilMs : reached;
}

/** What ours says of an instant from these lines, by a unit's own figures where it has some; undefined when not valid. */
export function estimateOfLines(
  known: readonly SimulatedLine[],
  nowMs: number,
  factors?: UnitFactors,
): ContentAt | undefined {
  const inputs = inputsOfLines(known, nowMs);
  if (whyNotValid(inputs) !== undefined) return undefined;
  const prior = priorOf(inputs);
  const said = estimateAt({
    observations: observationsOf(inputs.live, nowMs),
    prior: factors === undefined ? prior : ownPrior(prior, factors),
    atMs: nowMs,
    limitMl: inputs.limitMl,
    horizonMin: 1,
    clockAheadMs: inputs.clockAheadMs,
  });
  return isRefusal(said) ? undefined : said;
}
