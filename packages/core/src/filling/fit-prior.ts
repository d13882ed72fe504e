/**
 * A unit's own starting figures, from its own finished watches: those that would best have told beforehand what each look
 * and each drain then showed, drawn towards the starting ones as long as little was seen (empirical Bayes).
 *
 *     cost(θ) = Σ over lessons of the quantile score of what was seen, told from what was known just before with the
 *               figures · e^θ   + 30 mL · Σ (θ/0.5)²
 *
 * In → out  lessons: what was known just before a measured volume, and that volume → one factor for each figure, the same
 *           for every setting, and the mean cost before and after
 * Units     factors have none; costs are in mL for each lesson
 * Domain    at least 50 lessons; volumes that are "at least" are left out by the caller
 * Errors    found by trying steps up and down one figure after the other: near the best, not proved best. Figures that
 *           tell the same (more inflow, fewer voids) share what they explain
 * Not for   changing what a running watch says of itself: fit on watches that have ended
 * Source    score S-quantile-score; bounds, pull and steps S-made-prior-fit
 */
import { isRefusal, refuse, type Refusal } from '../quantity/index.ts';
import { estimateAt } from './estimate.ts';
import type { FillingObservation, ReadingObservation } from './observation.ts';
import type { FillingPrior } from './prior.ts';
import { readingStandardDeviationMl } from './reading-error.ts';

/** One measured volume, and what stood in the chart just before it. */
export interface PriorLesson {
  readonly observations: readonly FillingObservation[];
  readonly prior: FillingPrior;
  readonly limitMl: number;
  readonly clockAheadMs: number;
  readonly seen: ReadingObservation;
}

/** Figures that a unit's own watches can tell something about, and between what bounds each makes sense. */
const fitted = {
  inflowMlPerH: [5, 400],
  earlyExtraMlPerH: [0, 400],
  earlyExtraFadesH: [1, 48],
  nightInflowShare: [0.2, 1.5],
  personLogSd: [0.05, 1],
  inflowLogSd: [0.05, 1],
  inflowForgetsH: [0.3, 24],
  infusionShare: [0.005, 1],
  drinkShare: [0.02, 1],
  startMedianMl: [5, 800],
  startLogSd: [0.1, 2],
  startFullShare: [0, 0.9],
  capacityMeanMl: [250, 1200],
  capacitySdMl: [30, 500],
  ownCapacityLogSd: [0.03, 0.8],
  poorlyEmptiesShare: [0.01, 0.7],
  hardlyEmptiesShare: [0.01, 0.7],
  notYetEmptiesShare: [0.01, 0.5],
  voidsLowPerH: [0.001, 1],
  voidsHighPerH: [0.05, 12],
  urgeShare: [0.1, 1.2],
  urgeSpread: [0.02, 0.5],
  hardlyVoidsShare: [0.005, 1],
  nightVoidsShare: [0.05, 1.5],
  leaksPerH: [0.002, 2],
  blockLastsH: [0.5, 24],
  voidsNeverChartedShare: [0.005, 0.8],
  voidsChartedLateShare: [0.02, 0.5],
  limitDrainsPerH: [0.001, 6],
  routineDrainsPerH: [0.0005, 1],
  otherDrainsPerH: [0.0005, 1],
  mistakenShare: [0.0005, 0.1],
} as const satisfies Partial<Record<keyof FillingPrior, readonly [number, number]>>;

export type FittedFigure = keyof typeof fitted;
export const fittedFigures = Object.keys(fitted) as readonly FittedFigure[];
export type PriorFactors = Readonly<Partial<Record<FittedFigure, number>>>;

export interface FittedPrior {
  readonly factors: PriorFactors;
  readonly lessons: number;
  /** Mean cost of a lesson, mL. */
  readonly costBeforeMl: number;
  readonly costAfterMl: number;
}

/** A set with a unit's own factors; each figure stays within its bounds. */
export function withFactors(prior: FillingPrior, factors: PriorFactors): FillingPrior {
  const changed: Partial<Record<FittedFigure, number>> = {};
  for (const figure of fittedFigures) {
    const factor = factors[figure];
    if (factor === undefined) continue;
    const [low, high] = fitted[figure];
    // A figure that a setting puts outside the bounds keeps its own value.
    const least = Math.min(low, prior[figure]);
    const most = Math.max(high, prior[figure]);
    changed[figure] = Math.min(most, Math.max(least, prior[figure] * factor));
  }
  const out = { ...prior, ...changed };
  const all = out.poorlyEmptiesShare + out.hardlyEmptiesShare + out.notYetEmptiesShare;
  if (all <= mostWhoDoNotEmptyWell) return out;
  const shrink = mostWhoDoNotEmptyWell / all;
  return {
    ...out,
    poorlyEmptiesShare: out.poorlyEmptiesShare * shrink,
    hardlyEmptiesShare: out.hardlyEmptiesShare * shrink,
    notYetEmptiesShare: out.notYetEmptiesShare * shrink,
  };
}

const mostWhoDoNotEmptyWell = 0.98;
/** How far a unit is thought to be from the starting figures, as a log. */
const pullSd = 0.5;
const fewestLessons = 50;
/** What moving a figure by so much must save over all lessons together, mL. */
const pullMl = 30;
const firstStep = 0.4;
const leastStep = 0.1;

/** The five points of an estimate, and how many spreads from the middle each lies in a normal. */
const points = [
  { share: 0.05, z: -1.6448536269514722 },
  { share: 0.25, z: -0.6744897501960817 },
  { share: 0.5, z: 0 },
  { share: 0.75, z: 0.6744897501960817 },
  { share: 0.95, z: 1.6448536269514722 },
] as const;

/** Mean over the points of what each costs: near half the continuous ranked probability score, mL. */
function costMl(lesson: PriorLesson, prior: FillingPrior): number | Refusal {
  const { seen, limitMl, clockAheadMs, observations } = lesson;
  const said = estimateAt({ observations, prior, atMs: seen.atMs, limitMl, horizonMin: 1, clockAheadMs });
  if (isRefusal(said)) return said;
  const { p05Ml, p25Ml, p50Ml, p75Ml, p95Ml } = said.content;
  const sd = seen.standardDeviationMl ?? readingStandardDeviationMl(p50Ml, seen.doubts, prior);
  let sum = 0;
  for (const [place, content] of [p05Ml, p25Ml, p50Ml, p75Ml, p95Ml].entries()) {
    const { share, z } = points[place] as (typeof points)[number];
    // The error of the look widens what is said of the content.
    const at = p50Ml + Math.sign(z) * Math.hypot(content - p50Ml, z * sd);
    const over = seen.volumeMl - at;
    sum += over >= 0 ? share * over : (share - 1) * over;
  }
  return sum / points.length;
}

/** Factors on the starting figures that fit these lessons best, pulled towards `from`. */
export function fitPrior(
  lessons: readonly PriorLesson[],
  figures: readonly FittedFigure[] = fittedFigures,
  from: PriorFactors = {},
): FittedPrior | Refusal {
  if (lessons.length < fewestLessons) {
    return refuse('filling/too-few-lessons', {
      asked: "A unit's own starting figures",
      found: `${lessons.length} measured volumes`,
      allowed: `at least ${fewestLessons}`,
      todo: 'Wait until more watches have ended; the starting figures hold until then.',
    });
  }
  const start = totalCost(lessons, from);
  if (isRefusal(start)) return start;
  const moved = new Map<FittedFigure, number>();
  const factorsOf = (logs: ReadonlyMap<FittedFigure, number>): PriorFactors => ({
    ...from,
    ...Object.fromEntries([...logs].map(([figure, log]) => [figure, (from[figure] ?? 1) * Math.exp(log)])),
  });
  const pullOf = (logs: ReadonlyMap<FittedFigure, number>): number =>
    [...logs.values()].reduce((sum, log) => sum + pullMl * (log / pullSd) ** 2, 0);
  let bestFitMl = start;
  let bestMl = start;
  const steps = new Map(figures.map((figure) => [figure, firstStep]));
  while ([...steps.values()].some((step) => step >= leastStep)) {
    for (const [figure, step] of steps) {
      if (step < leastStep) continue;
      const here = moved.get(figure) ?? 0;
      const better = [step, -step].some((way) => {
        const tried = new Map(moved).set(figure, here + way);
        const fitMl = totalCost(lessons, factorsOf(tried));
        if (isRefusal(fitMl) || fitMl + pullOf(tried) >= bestMl) return false;
        bestFitMl = fitMl;
        bestMl = fitMl + pullOf(tried);
        moved.set(figure, here + way);
        return true;
      });
      if (!better) steps.set(figure, step / 2);
    }
  }
  return {
    factors: factorsOf(moved),
    lessons: lessons.length,
    costBeforeMl: start / lessons.length,
    costAfterMl: bestFitMl / lessons.length,
  };
}

function totalCost(lessons: readonly PriorLesson[], factors: PriorFactors): number | Refusal {
  let sum = 0;
  for (const lesson of lessons) {
    const cost = costMl(lesson, withFactors(lesson.prior, factors));
    if (isRefusal(cost)) return cost;
    sum += cost;
  }
  return sum;
}

/** In these, one setting of a unit may differ from its others. */
const ofTheSetting: readonly FittedFigure[] = [
  'inflowMlPerH',
  'earlyExtraMlPerH',
  'earlyExtraFadesH',
  'startMedianMl',
  'poorlyEmptiesShare',
  'hardlyEmptiesShare',
  'notYetEmptiesShare',
  'voidsHighPerH',
  'leaksPerH',
];

/** A unit's own factors: for all its settings, and instead of them for each that has enough of its own. */
export interface UnitFactors {
  readonly common: PriorFactors;
  readonly bySetting: Readonly<Record<string, PriorFactors>>;
}

/** How far a unit's figure may be from the starting one, as a factor: further off, something else is wrong. S-made-prior-fit */
export const factorFrom = 0.02;
export const factorTo = 50;

const factorsFrom = (value: unknown): PriorFactors | undefined => {
  if (typeof value !== 'object' || value === null || Array.isArray(value)) return undefined;
  const known: ReadonlySet<string> = new Set(fittedFigures);
  const sound = Object.entries(value).every(
    ([figure, factor]) =>
      known.has(figure) && typeof factor === 'number' && factor >= factorFrom && factor <= factorTo,
  );
  return sound ? value : undefined;
};

/** Factors as they were kept, or why they can't be used. */
export function readUnitFactors(value: unknown): UnitFactors | Refusal {
  const given = (typeof value === 'object' && value !== null ? value : {}) as Record<string, unknown>;
  const common = factorsFrom(given['common']);
  const settings = Object.entries(
    typeof given['bySetting'] === 'object' && given['bySetting'] !== null ? given['bySetting'] : {},
  ).map(([setting, one]) => [setting, factorsFrom(one)] as const);
  if (common === undefined || settings.some(([, one]) => one === undefined)) {
    return refuse('filling/not-figures', {
      asked: "A unit's own starting figures",
      found: 'something else',
      allowed: `factors from ${factorFrom} to ${factorTo} on figures of the estimate, in "common" and "bySetting"`,
      todo: 'Learn them again from the ward log.',
    });
  }
  return { common, bySetting: Object.fromEntries(settings) as Readonly<Record<string, PriorFactors>> };
}

/** A starting set with the unit's own figures. */
export const ownPrior = (prior: FillingPrior, { common, bySetting }: UnitFactors): FillingPrior =>
  withFactors(
    prior,
    Object.hasOwn(bySetting, prior.setting) ? (bySetting[prior.setting] as PriorFactors) : common,
  );

export interface UnitFit {
  readonly factors: UnitFactors;
  readonly common: FittedPrior;
  readonly bySetting: Readonly<Record<string, FittedPrior>>;
}

/** Fits a unit's own factors: first for all lessons together, then, from there, for every setting with enough of its own. */
export function fitUnit(lessons: readonly PriorLesson[]): UnitFit | Refusal {
  const common = fitPrior(lessons);
  if (isRefusal(common)) return common;
  const bySetting: Record<string, FittedPrior> = {};
  for (const setting of new Set(lessons.map((one) => one.prior.setting))) {
    const own = fitPrior(
      lessons.filter((one) => one.prior.setting === setting),
      ofTheSetting,
      common.factors,
    );
    if (!isRefusal(own)) bySetting[setting] = own;
  }
  return {
    factors: {
      common: common.factors,
      bySetting: Object.fromEntries(
        Object.entries(bySetting).map(([setting, one]) => [setting, one.factors]),
      ),
    },
    common,
    bySetting,
  };
}
