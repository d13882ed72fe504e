/**
 * Ways of deciding when to look next. Every one begins with a look when the watch opens, looks when a patient says
 * that nothing comes, and drains when a look shows at least the limit; they differ in the time of the next look alone.
 *
 * Units     mL, kg, h, ms; tolerances in percent
 * Source    1 mL/kg/h S-clinical-H1; bounds S-made-look-bounds
 */
import { hourMs, instantMs, minuteMs, refuse, type Refusal } from '@ebbline/core/quantity';
import type { SimulatedLine, Staff, StaffView } from '@ebbline/simulate';
import type { UnitFactors } from '@ebbline/core/filling';
import { chanceInstantMs, inputsOfLines, toleranceInstantMs } from './next-look.ts';

/** Usual filling at rest. S-clinical-H1 */
const restingMlPerKgPerH = 1;

/** No way of deciding looks again sooner than this after a look, or later. S-made-look-bounds */
const shortestGapMs = 30 * minuteMs;
const longestGapMs = 8 * hourMs;

export interface Strategy {
  readonly name: string;
  readonly says: string;
  /** Whose curve it is a point of. */
  readonly family: string;
  /** The chance of being over the limit at which it looks, percent; undefined for the simple rules. */
  readonly tolerancePercent?: number;
  readonly nextLookMs: (view: StaffView, lastLookMs: number) => number;
}

type Watch = Extract<SimulatedLine, { kind: 'watch' }>;

const watchOf = (known: readonly SimulatedLine[]): Watch | undefined =>
  known.find((line): line is Watch => line.kind === 'watch');

interface Point {
  readonly atMs: number;
  readonly volumeMl: number;
}

/** What looks showed since the last drain, which itself counts as empty. */
function pointsOf(known: readonly SimulatedLine[]): readonly Point[] {
  let points: Point[] = [];
  const looks = known
    .filter((line) => line.kind === 'reading' || line.kind === 'drained')
    .sort((a, b) => instantMs(a.at) - instantMs(b.at) || (a.kind === 'reading' ? -1 : 1));
  for (const line of looks) {
    const atMs = instantMs(line.at);
    if (line.kind === 'drained') points = [{ atMs, volumeMl: 0 }];
    else if (line.kind === 'reading') points.push({ atMs, volumeMl: line.volumeMl });
  }
  return points;
}

/** When a straight line from that point reaches the limit; never when it does not rise. */
const crossingMs = (from: Point, rateMlPerH: number, limitMl: number): number =>
  from.volumeMl >= limitMl
    ? from.atMs
    : rateMlPerH <= 0
      ? Infinity
      : from.atMs + ((limitMl - from.volumeMl) / rateMlPerH) * hourMs;

function byWeight(view: StaffView, mlPerKgPerH: number, lessVoids: boolean): number {
  const watch = watchOf(view.known);
  let point = pointsOf(view.known).at(-1);
  if (watch === undefined || point === undefined) return view.nowMs;
  const rateMlPerH = watch.weightKg * mlPerKgPerH;
  if (lessVoids) {
    const sinceMs = point.atMs;
    const voids = view.known
      .filter((one) => one.kind === 'void' && one.measured && instantMs(one.at) > sinceMs)
      .sort((a, b) => instantMs(a.at) - instantMs(b.at));
    for (const one of voids) {
      if (one.kind !== 'void') continue;
      const atMs = instantMs(one.at);
      const filledMl: number = point.volumeMl + ((atMs - point.atMs) / hourMs) * rateMlPerH;
      point = { atMs, volumeMl: Math.max(0, filledMl - (one.volumeMl ?? 0)) };
    }
  }
  return crossingMs(point, rateMlPerH, watch.limitMl);
}

function byLine(view: StaffView): number {
  const watch = watchOf(view.known);
  const [before, last] = pointsOf(view.known).slice(-2);
  if (watch === undefined || before === undefined || last === undefined)
    return byWeight(view, restingMlPerKgPerH, false);
  const hours = (last.atMs - before.atMs) / hourMs;
  return crossingMs(last, hours > 0 ? (last.volumeMl - before.volumeMl) / hours : 0, watch.limitMl);
}

const fixed = (hours: number): Strategy => ({
  name: `fixed-${hours}h`,
  family: 'fixed',
  says: `every ${hours} hours`,
  nextLookMs: (_, lastLookMs) => lastLookMs + hours * hourMs,
});

const bounded =
  (when: (view: StaffView, lastLookMs: number) => number): Strategy['nextLookMs'] =>
  (view, lastLookMs) =>
    Math.min(lastLookMs + longestGapMs, Math.max(lastLookMs + shortestGapMs, when(view, lastLookMs)));

/** The chart with another limit in it: a rule that is to look at a share of the limit. */
const atShare = (view: StaffView, share: number): StaffView =>
  share === 1
    ? view
    : {
        ...view,
        known: view.known.map((one) =>
          one.kind === 'watch' ? { ...one, limitMl: share * one.limitMl } : one,
        ),
      };

const ofLimit = (share: number): string => (share === 1 ? '' : `, to ${share} of the limit`);

const byWeightRule = (kind: string, name: string, mlPerKgPerH: number, share: number): Strategy => {
  const lessVoids = kind === 'weight-less-voids';
  return {
    name,
    family: name.includes('@') ? `${kind}@` : kind,
    says: `${mlPerKgPerH} mL/kg/h from the last reading${lessVoids ? ', less measured voids' : ''}${ofLimit(share)}`,
    nextLookMs: bounded((view) => byWeight(atShare(view, share), mlPerKgPerH, lessVoids)),
  };
};
const line = (name: string, share: number): Strategy => ({
  name,
  family: 'line',
  says: `a straight line through the last two readings${ofLimit(share)}`,
  nextLookMs: bounded((view) => byLine(atShare(view, share))),
});

const ours = (percent: number, factors: UnitFactors | undefined): Strategy => ({
  name: `ours-${percent}`,
  family: 'ours',
  says: `ours, when ${percent} in 100 are over the limit if nothing leaves`,
  tolerancePercent: percent,
  nextLookMs: bounded(
    (view) =>
      toleranceInstantMs(inputsOfLines(view.known, view.nowMs), percent / 100, view.nowMs, factors) ??
      Infinity,
  ),
});

const chance = (percent: number, factors: UnitFactors | undefined): Strategy => ({
  name: `chance-${percent}`,
  family: 'chance',
  says: `ours, when ${percent} in 100 are over the limit as long as nothing more is charted`,
  tolerancePercent: percent,
  nextLookMs: bounded((view, lastLookMs) =>
    chanceInstantMs(
      inputsOfLines(view.known, view.nowMs),
      percent / 100,
      view.nowMs,
      {
        fromMs: Math.max(view.nowMs, lastLookMs + shortestGapMs),
        untilMs: Math.max(view.nowMs, lastLookMs + longestGapMs),
      },
      factors,
    ),
  ),
});

const rates = [0.75, 1, 1.25, 1.5, 2, 2.5, 3, 4];
const shares = [0.3, 0.4, 0.5, 0.6, 0.7, 0.8, 0.9, 1, 1.2];
export const usualStrategies = [
  ...[1.5, 2, 2.5, 3, 3.5, 4, 5, 6, 8].map((hours) => `fixed-${hours}h`),
  ...shares.map((share) => `line@${share}`),
  ...['weight', 'weight-less-voids'].flatMap((kind) => [
    ...rates.map((rate) => `${kind}-${rate}`),
    ...shares.map((share) => `${kind}@${share}`),
  ]),
  ...[5, 10, 20, 35, 50, 70].map((percent) => `ours-${percent}`),
].join(',');

const namePattern =
  /^(fixed|ours|chance|line|weight-less-voids|weight)(?:-(\d+(?:\.\d+)?)(h?))?(?:@(\d+(?:\.\d+)?))?$/;

/** The strategy of a name, by a unit's own figures where it has some; or what the names are. */
export function strategyOf(name: string, factors?: UnitFactors): Strategy | Refusal {
  const [, kind = '', figure, hours, at] = namePattern.exec(name) ?? [];
  const value = figure === undefined ? undefined : Number(figure);
  const share = at === undefined ? 1 : Number(at);
  const simple = hours === '' || hours === undefined;
  const shareFits = share >= 0.1 && share <= 2;
  const percentFits = value !== undefined && value > 0 && value < 100;
  if (
    kind === 'fixed' &&
    hours === 'h' &&
    at === undefined &&
    value !== undefined &&
    value >= 0.5 &&
    value <= 24
  )
    return fixed(value);
  if (kind === 'line' && value === undefined && shareFits) return line(name, share);
  if (kind === 'ours' && simple && at === undefined && percentFits) return ours(value, factors);
  if (kind === 'chance' && simple && at === undefined && percentFits) return chance(value, factors);
  if (kind.startsWith('weight') && simple && shareFits && (value === undefined || (value > 0 && value <= 20)))
    return byWeightRule(kind, name, value ?? restingMlPerKgPerH, share);
  return refuse('simulate/unknown-strategy', {
    asked: 'Strategy',
    found: `"${name.slice(0, 40)}"`,
    allowed:
      'fixed-HOURSh from 0.5 to 24; line; weight or weight-less-voids, perhaps with -RATE in mL/kg/h up to 20; these three perhaps with @SHARE of the limit from 0.1 to 2; ours-PERCENT or chance-PERCENT above 0 and below 100',
    todo: 'Name them with a comma between, such as fixed-4h,line@0.8,ours-10.',
  });
}

const saysNothingComes = (known: readonly SimulatedLine[], sinceMs: number): boolean =>
  known.some(
    (one) =>
      one.kind === 'symptom' &&
      (one.symptom === 'urge-cannot-pass' || one.symptom === 'tried-nothing-passed') &&
      instantMs(one.at) > sinceMs,
  );

/** A ward that decides in this way. */
export function staffOf(strategy: Strategy): Staff {
  return {
    nextLookMs: (view) => {
      const { lastLookMs } = view;
      if (lastLookMs === undefined) return view.opensAtMs;
      const planned = strategy.nextLookMs(view, lastLookMs);
      return saysNothingComes(view.known, lastLookMs)
        ? Math.min(planned, Math.max(view.nowMs, lastLookMs + shortestGapMs))
        : planned;
    },
    drains: (reading, watch) => reading.volumeMl >= watch.limitMl,
  };
}
