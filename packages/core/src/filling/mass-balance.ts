/**
 * Does it add up? Between one known content and the next, what must have flowed in:
 *
 *     inflow = (next − last + passed) / time
 *
 * and whether any inflow that a kidney can make, and any error that the entries may have, explains it.
 *
 * Units     mL, mL/h, ms
 * Domain    observations as for the estimate; while a catheter stays in, spans are not judged
 * Errors    each volume's error is taken three standard deviations wide before a sum is called impossible
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
  readonly lowMl: number;
  readonly middleMl: number;
  readonly highMl: number;
  readonly words: string;
}

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
  let passed = { low: 0, high: 0, words: [] as string[] };
  let catheterIn = false;

  const anchor = (atMs: number, middleMl: number, sd: number, words: string, open = false): Anchor => ({
    atMs,
    middleMl,
    lowMl: Math.max(0, middleMl - settings.wideness * sd),
    highMl: open ? Number.POSITIVE_INFINITY : middleMl + settings.wideness * sd,
    words,
  });
  const close = (next: Anchor): void => {
    if (last && !catheterIn) spans.push(judge(last, next, passed, settings));
  };
  const startFrom = (next: Anchor | undefined): void => {
    last = next;
    passed = { low: 0, high: 0, words: [] };
  };
  const nearlyEmpty = (atMs: number, words: string): Anchor =>
    anchor(atMs, prior.leftAfterDrainingMl, prior.leftAfterDrainingSdMl, words);

  for (const one of ordered) {
    switch (one.kind) {
      case 'reading': {
        const sd = one.standardDeviationMl ?? readingStandardDeviationMl(one.volumeMl, one.doubts, prior);
        const open = one.bound === 'at-least' && controlIsOn('at-least-is-a-bound');
        const next = anchor(
          one.atMs,
          one.volumeMl,
          sd,
          open ? `at least ${round(one.volumeMl)} read` : `${round(one.volumeMl)} read`,
          open,
        );
        close(next);
        startFrom(catheterIn ? undefined : next);
        break;
      }
      case 'void': {
        const spread = one.measured
          ? settings.wideness * Math.hypot(prior.voidSdMl, (one.relativeSd ?? prior.voidShare) * one.volumeMl)
          : 0;
        const [low, high] = one.measured
          ? [Math.max(0, one.volumeMl - spread), one.volumeMl + spread]
          : [one.lowMl, one.highMl];
        passed = {
          low: passed.low + low,
          high: passed.high + high,
          words: [
            ...passed.words,
            one.measured ? `${round(one.volumeMl)} passed` : `${round(low)} to ${round(high)} passed`,
          ],
        };
        break;
      }
      case 'drained':
        if (one.volumeMl !== undefined) {
          close(
            anchor(
              one.atMs,
              one.volumeMl + prior.leftAfterDrainingMl,
              Math.hypot(prior.drainedSdMl, prior.drainedShare * one.volumeMl),
              `${round(one.volumeMl)} drained`,
            ),
          );
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

function judge(
  from: Anchor,
  to: Anchor,
  passed: { readonly low: number; readonly high: number; readonly words: readonly string[] },
  settings: MassBalanceSettings,
): BalanceSpan {
  const hours = (to.atMs - from.atMs) / hourMs;
  const least = to.lowMl - from.highMl + passed.low;
  const most = to.highMl - from.lowMl + passed.high;
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
    return {
      ...base,
      finding: {
        code: 'too-much',
        sum: `${told}: ${round(middle)} would have had to flow in, and at most ${round(could)} can (${round(settings.highestInflowMlPerH)} an hour).`,
      },
    };
  }
  if (most < 0) {
    return {
      ...base,
      finding: {
        code: 'too-little',
        sum: `${told}: ${round(-middle)} less than there must have been, and nothing charted says where it went.`,
      },
    };
  }
  return base;
}
