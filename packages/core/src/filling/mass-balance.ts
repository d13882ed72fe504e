/**
 * Does it add up? Between one known content and the next, what must have flowed in:
 *
 *     inflow = (next − last + passed) / time
 *
 * and whether any inflow that a kidney can make, and any error that the entries may have, explains it.
 *
 * Units     mL, mL/h, ms
 * Domain    observations as for the estimate; while a catheter stays in, spans are not judged
 * Errors    the errors of all volumes in a sum, added in squares, are taken three standard deviations wide before it
 *           is called impossible
 * Source    S-clinical-O2; the ceiling on inflow is ours (S-made-inflow-ceiling), far above what a strong diuretic
 *           gives (300 mL/h in the worked line of S-clinical-O1)
 */
import { controlIsOn, hourMs, isRefusal, minuteMs, type Refusal } from '../quantity/index.ts';
import { checkObservations, type FillingObservation } from './observation.ts';
import { startingPriors, type FillingPrior } from './prior.ts';
import { readingStandardDeviationMl } from './reading-error.ts';

export interface MassBalanceSettings {
  readonly highestInflowMlPerH: number;
  readonly wideness: number;
}

export const startingMassBalanceSettings: MassBalanceSettings = { highestInflowMlPerH: 1000, wideness: 3 };

export interface BalanceSpan {
  readonly fromMs: number;
  readonly toMs: number;
  readonly fromMl: number;
  readonly toMl: number;
  /** Passed in between, as charted: least and most. */
  readonly passedMl: { readonly low: number; readonly high: number };
  /** Inflow that the charted figures imply; absent when they are at the same instant. */
  readonly impliedMlPerH?: { readonly low: number; readonly middle: number; readonly high: number };
  readonly finding?: {
    /** `too-much`: nobody fills that fast. `too-little`: urine left that nobody charted, or a figure is wrong. */
    readonly code: 'too-much' | 'too-little';
    /** The sum that fails, in words. */
    readonly sum: string;
  };
}

interface Anchor {
  readonly atMs: number;
  readonly middleMl: number;
  readonly sd: number;
  /** The truth may be any amount more. */
  readonly open: boolean;
  readonly words: string;
}

interface Passed {
  /** Least and most, errors of measured volumes aside. */
  readonly low: number;
  readonly high: number;
  readonly variance: number;
  readonly words: readonly string[];
}

const nothingPassed: Passed = { low: 0, high: 0, variance: 0, words: [] };

const round = (ml: number): string => `${Math.round(ml)} mL`;

/** Spans between known contents, each with what it implies. */
export function massBalance(
  observations: readonly FillingObservation[],
  settings: MassBalanceSettings = startingMassBalanceSettings,
  prior: FillingPrior = startingPriors['resting'] as FillingPrior,
): readonly BalanceSpan[] | Refusal {
  const ordered = checkObservations(observations);
  if (isRefusal(ordered)) return ordered;
  const spans: BalanceSpan[] = [];
  let last: Anchor | undefined;
  let passed = nothingPassed;
  let catheterIn = false;

  const close = (next: Anchor): void => {
    if (last && !catheterIn) spans.push(judge(last, next, passed, settings));
  };
  const startFrom = (next: Anchor | undefined): void => {
    last = next;
    passed = nothingPassed;
  };
  const nearlyEmpty = (atMs: number, words: string): Anchor => ({
    atMs,
    middleMl: prior.leftAfterDrainingMl,
    sd: prior.leftAfterDrainingSdMl,
    open: false,
    words,
  });

  for (const one of ordered) {
    switch (one.kind) {
      case 'reading': {
        const open = one.bound === 'at-least' && controlIsOn('at-least-is-a-bound');
        const next: Anchor = {
          atMs: one.atMs,
          middleMl: one.volumeMl,
          sd: one.standardDeviationMl ?? readingStandardDeviationMl(one.volumeMl, one.doubts, prior),
          open,
          words: open ? `at least ${round(one.volumeMl)} read` : `${round(one.volumeMl)} read`,
        };
        close(next);
        startFrom(catheterIn ? undefined : next);
        break;
      }
      case 'void': {
        const sd = one.measured
          ? Math.hypot(prior.voidSdMl, (one.relativeSd ?? prior.voidShare) * one.volumeMl)
          : 0;
        const [low, high] = one.measured ? [one.volumeMl, one.volumeMl] : [one.lowMl, one.highMl];
        passed = {
          low: passed.low + low,
          high: passed.high + high,
          variance: passed.variance + sd * sd,
          words: [
            ...passed.words,
            one.measured ? `${round(low)} passed` : `${round(low)} to ${round(high)} passed`,
          ],
        };
        break;
      }
      case 'drained':
        if (one.volumeMl !== undefined) {
          close({
            atMs: one.atMs,
            middleMl: one.volumeMl + prior.leftAfterDrainingMl,
            sd: Math.hypot(prior.drainedSdMl, prior.drainedShare * one.volumeMl, prior.leftAfterDrainingSdMl),
            open: false,
            words: `${round(one.volumeMl)} drained`,
          });
        }
        catheterIn = one.thenIn === 'left-in' || (catheterIn && one.volumeMl === undefined);
        startFrom(
          catheterIn
            ? undefined
            : nearlyEmpty(
                one.atMs,
                one.volumeMl === undefined ? 'emptied' : `emptied by draining ${round(one.volumeMl)}`,
              ),
        );
        break;
      case 'catheter':
        catheterIn = one.state !== 'out';
        startFrom(catheterIn ? undefined : nearlyEmpty(one.atMs, 'catheter out'));
        break;
      default:
        break;
    }
  }
  return spans;
}

function judge(from: Anchor, to: Anchor, passed: Passed, settings: MassBalanceSettings): BalanceSpan {
  const hours = (to.atMs - from.atMs) / hourMs;
  const spread = settings.wideness * Math.sqrt(from.sd ** 2 + to.sd ** 2 + passed.variance);
  const least = from.open ? Number.NEGATIVE_INFINITY : to.middleMl - from.middleMl + passed.low - spread;
  const most = to.open ? Number.POSITIVE_INFINITY : to.middleMl - from.middleMl + passed.high + spread;
  const middle = to.middleMl - from.middleMl + (passed.low + passed.high) / 2;
  const minutes = Math.round((to.atMs - from.atMs) / minuteMs);
  const told = `${from.words}, then ${[...passed.words, to.words].join(', ')} ${minutes} min later`;
  const could = settings.highestInflowMlPerH * hours;
  const base = {
    fromMs: from.atMs,
    toMs: to.atMs,
    fromMl: from.middleMl,
    toMl: to.middleMl,
    passedMl: { low: passed.low, high: passed.high },
    ...(hours > 0
      ? { impliedMlPerH: { low: least / hours, middle: middle / hours, high: most / hours } }
      : {}),
  };
  if (!controlIsOn('impossible-sum-questioned')) return base;
  if (least > could) {
    const sum = `${told}: ${round(middle)} would have had to flow in, and at most ${round(could)} can (${round(settings.highestInflowMlPerH)} an hour).`;
    return { ...base, finding: { code: 'too-much', sum } };
  }
  if (most < 0) {
    const sum = `${told}: ${round(-middle)} less than there must have been, and nothing charted says where it went.`;
    return { ...base, finding: { code: 'too-little', sum } };
  }
  return base;
}
