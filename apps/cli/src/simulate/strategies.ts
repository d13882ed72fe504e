/**
 * Ways of deciding when to look next. Every one begins with a look when the watch opens, looks when a patient says
 * that nothing comes, and drains when a look shows at least the limit; they differ in the time of the next look alone.
 *
 * Units     mL, kg, h, ms; tolerances in percent
 * Source    1 mL/kg/h S-clinical-H1; bounds S-made-look-bounds
 */
import { hourMs, instantMs, minuteMs, refuse, type Refusal } from '@ebbline/core/quantity';
import type { SimulatedLine, Staff, StaffView } from '@ebbline/simulate';
import { inputsOfLines, toleranceInstantMs } from './next-look.ts';

/** Usual filling at rest. S-clinical-H1 */
const restingMlPerKgPerH = 1;

/** No way of deciding looks again sooner than this after a look, or later. S-made-look-bounds */
const shortestGapMs = 30 * minuteMs;
const longestGapMs = 8 * hourMs;

export interface Strategy {
  readonly name: string;
  readonly says: string;
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
  says: `every ${hours} hours`,
  nextLookMs: (_, lastLookMs) => lastLookMs + hours * hourMs,
});

const bounded =
  (when: (view: StaffView) => number): Strategy['nextLookMs'] =>
  (view, lastLookMs) =>
    Math.min(lastLookMs + longestGapMs, Math.max(lastLookMs + shortestGapMs, when(view)));

const byWeightRule = (name: string, mlPerKgPerH: number, lessVoids: boolean): Strategy => ({
  name,
  says: `${mlPerKgPerH} mL/kg/h from the last reading${lessVoids ? ', less measured voids' : ''}`,
  nextLookMs: bounded((view) => byWeight(view, mlPerKgPerH, lessVoids)),
});
const line: Strategy = {
  name: 'line',
  says: 'a straight line through the last two readings',
  nextLookMs: bounded(byLine),
};

const ours = (percent: number): Strategy => ({
  name: `ours-${percent}`,
  says: `ours, when ${percent} in 100 are over the limit`,
  tolerancePercent: percent,
  nextLookMs: bounded(
    (view) =>
      toleranceInstantMs(inputsOfLines(view.known, view.nowMs), percent / 100, view.nowMs) ?? Infinity,
  ),
});

export const usualStrategies =
  'fixed-4h,fixed-3h,fixed-2h,line,weight,weight-less-voids,weight-less-voids-1.5,weight-less-voids-2,weight-less-voids-3,ours-2,ours-5,ours-10,ours-20,ours-35,ours-50,ours-65,ours-80';

/** The strategy of a name, or what the names are. */
export function strategyOf(name: string): Strategy | Refusal {
  if (name === line.name) return line;
  const [, kind = '', figure] =
    /^(fixed|ours|weight|weight-less-voids)(?:-(\d+(?:\.\d+)?h?))?$/.exec(name) ?? [];
  const inHours = figure?.endsWith('h') === true;
  const value = figure === undefined ? undefined : Number(figure.replace('h', ''));
  if (kind === 'fixed' && inHours && value !== undefined && value >= 0.5 && value <= 24) return fixed(value);
  if (kind === 'ours' && !inHours && value !== undefined && value > 0 && value < 100) return ours(value);
  if (kind.startsWith('weight') && !inHours && (value === undefined || (value > 0 && value <= 20)))
    return byWeightRule(name, value ?? restingMlPerKgPerH, kind === 'weight-less-voids');
  return refuse('simulate/unknown-strategy', {
    asked: 'Strategy',
    found: `"${name.slice(0, 40)}"`,
    allowed:
      'fixed-HOURSh from 0.5 to 24; line; weight or weight-less-voids, perhaps with -RATE in mL/kg/h up to 20; ours-PERCENT above 0 and below 100',
    todo: 'Name them with a comma between, such as fixed-4h,ours-10.',
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
