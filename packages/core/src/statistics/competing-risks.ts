/**
 * Cumulative incidence when several endings compete: the Aalen–Johansen estimate. "Time to retention" must treat
 * discharge, death and catheterisation as competing, since 1 − Kaplan–Meier overstates.
 *
 *     F_k(t) = Σ S(s−) d_k / r
 *
 * Units     those of the times
 * Domain    times ≥ 0; ending 0 = still without any (censored), 1…K
 * Errors    two variances are offered, as two reference programs differ: `influence` (sum of squared influences
 *           of each person) and `counting` (Aalen's counting-process form with hypergeometric tie correction).
 *           Intervals on the log scale.
 * Source    S-clinical-K11, S-clinical-K12; S-aalen-johansen; S-gray
 */
import { refuse, type Refusal } from '../quantity/index.ts';
import { normalQuantile } from './distributions.ts';

export interface CompetingOutcome {
  readonly time: number;
  /** 0 = censored; 1…K = which ending came first. */
  readonly ending: number;
}

export interface IncidenceStep {
  readonly time: number;
  readonly atRisk: number;
  /** Share with none of the endings. */
  readonly free: number;
  /** Cumulative incidence of endings 1…K. */
  readonly incidence: readonly number[];
  readonly freeStandardError: number;
  readonly standardErrors: readonly number[];
  /** Variances of the counting-process form. */
  readonly countingVariances: readonly number[];
}

interface Group {
  readonly time: number;
  readonly ending: number;
  readonly count: number;
}

/** One step for each distinct time. */
export function cumulativeIncidence(
  outcomes: readonly CompetingOutcome[],
  endings: number,
): readonly IncidenceStep[] | Refusal {
  const wrong = outcomes.find(
    (one) =>
      !(one.time >= 0 && Number.isFinite(one.time)) ||
      !Number.isInteger(one.ending) ||
      one.ending < 0 ||
      one.ending > endings,
  );
  if (outcomes.length === 0 || wrong) {
    return refuse('statistics/not-an-outcome', {
      asked: 'Cumulative incidence',
      found: wrong ? `time ${wrong.time}, ending ${wrong.ending}` : '0 people',
      allowed: `times from 0 and endings 0 to ${endings}`,
      todo: 'Correct that outcome.',
    });
  }
  const counts = new Map<string, Group>();
  for (const { time, ending } of outcomes) {
    const key = `${time}|${ending}`;
    counts.set(key, { time, ending, count: (counts.get(key)?.count ?? 0) + 1 });
  }
  const groups = [...counts.values()].sort((a, b) => a.time - b.time);
  const times = [...new Set(groups.map((group) => group.time))];
  const kinds = Array.from({ length: endings }, (_, index) => index + 1);
  let atRisk = outcomes.length;
  let free = 1;
  const incidence = kinds.map(() => 0);
  // Influence of each group of identical people on the free share and on each incidence.
  const onFree = groups.map(() => 0);
  const onIncidence = kinds.map(() => groups.map(() => 0));
  // Running sums of the counting-process form, one set per ending.
  const sums = kinds.map(() => ({ squares: 0, cross: 0, base: 0 }));
  const steps: IncidenceStep[] = [];
  for (const time of times) {
    const here = groups.filter((group) => group.time === time);
    const events = kinds.map((kind) => here.find((group) => group.ending === kind)?.count ?? 0);
    const all = events.reduce((total, count) => total + count, 0);
    const left = here.reduce((total, group) => total + group.count, 0);
    if (all > 0) {
      const hazards = events.map((count) => count / atRisk);
      const hazard = all / atRisk;
      for (const [index, group] of groups.entries()) {
        const inRisk = group.time >= time ? 1 : 0;
        const was = onFree[index] as number;
        let shift = 0;
        for (const kind of kinds) {
          const ended = group.time === time && group.ending === kind ? 1 : 0;
          const change = (ended - inRisk * (hazards[kind - 1] as number)) / atRisk;
          shift += change;
          const list = onIncidence[kind - 1] as number[];
          list[index] = (list[index] as number) + was * (hazards[kind - 1] as number) + free * change;
        }
        onFree[index] = was * (1 - hazard) - free * shift;
      }
      const nextFree = free * (1 - hazard);
      for (const kind of kinds) {
        const place = kind - 1;
        incidence[place] = (incidence[place] as number) + free * (hazards[place] as number);
      }
      if (nextFree > 0 || all === atRisk) {
        for (const kind of kinds) {
          const place = kind - 1;
          const set = sums[place] as { squares: number; cross: number; base: number };
          const own = events[place] as number;
          const other = all - own;
          const factor = (count: number): number =>
            (free * free * count * (count > 1 ? 1 - (count - 1) / (atRisk - 1) : 1)) / (atRisk * atRisk);
          const perFree = nextFree > 0 ? 1 / nextFree : 0;
          const held = (incidence[place] as number) * perFree;
          for (const [count, head] of [
            [own, 1 + held],
            [other, held],
          ] as const) {
            if (count === 0 || (count === other && head === held && nextFree === 0)) continue;
            const weight = factor(count);
            set.squares += head * head * weight;
            set.cross += head * perFree * weight;
            set.base += perFree * perFree * weight;
          }
        }
      }
      free = nextFree;
    }
    const spread = (influences: readonly number[]): number =>
      Math.sqrt(
        influences.reduce((total, value, index) => total + value * value * (groups[index] as Group).count, 0),
      );
    steps.push({
      time,
      atRisk,
      free,
      incidence: [...incidence],
      freeStandardError: spread(onFree),
      standardErrors: onIncidence.map(spread),
      countingVariances: sums.map((set, place) => {
        const f = incidence[place] as number;
        return set.squares + f * f * set.base - 2 * f * set.cross;
      }),
    });
    atRisk -= left;
  }
  return steps;
}

/** The curves at a time. */
export function incidenceAt(steps: readonly IncidenceStep[], time: number): IncidenceStep | undefined {
  return steps.findLast((step) => step.time <= time);
}

/** Interval of a probability on the log scale. */
export function logScaleInterval(
  probability: number,
  standardError: number,
  level = 0.95,
): { readonly low: number; readonly high: number } {
  if (probability <= 0) return { low: 0, high: 0 };
  const spread = (normalQuantile(1 - (1 - level) / 2) * standardError) / probability;
  return { low: probability * Math.exp(-spread), high: Math.min(1, probability * Math.exp(spread)) };
}
