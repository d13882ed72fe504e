/** From facts to the estimate: entries become observations of the filling room, and its answer comes back. */
import { instantMs, isRefusal, minuteMs } from '../quantity/index.ts';
import { contentAbove, estimateAt, estimateTrack, fillOn, follow, pass, priorFor, stories, type FillingEstimate, type FillingObservation, type FillingPrior, type TrackPoint } from '../filling/index.ts';
import type { Caution, Entry, WatchSetting } from '../record/index.ts';
import { voidFact } from './volumes.ts';

/** How far ahead a crossing is looked for, min. */
const horizonMin = 24 * 60;
const stepMs = 10 * minuteMs;

const priorNames: Readonly<Record<WatchSetting, string>> = {
  'after-surgery': 'after-surgery',
  'catheter-removed': 'catheter-removed',
  'after-birth': 'after-birth',
  'stroke-or-rehabilitation': 'stroke',
  'spinal-cord': 'spinal-cord',
  'intermittent-programme': 'spinal-cord',
  child: 'resting',
  comfort: 'resting',
};

export function observationsOf(live: readonly Entry[], untilMs: number): readonly FillingObservation[] {
  const found: FillingObservation[] = [];
  for (const entry of live) {
    const atMs = instantMs(entry.effectiveAt);
    if (atMs > untilMs) continue;
    switch (entry.kind) {
      case 'reading': {
        const { volumeMl, result, doubts, lowMl, highMl } = entry.payload;
        if (volumeMl === undefined || result === 'not-obtained') break;
        const cut = doubts.some((one) => one === 'cut-below' || one === 'edge-outside' || one === 'shadow');
        const own = lowMl !== undefined && highMl !== undefined && highMl > lowMl ? { standardDeviationMl: (highMl - lowMl) / 3.29 } : {};
        found.push({ kind: 'reading', atMs, volumeMl, bound: result === 'at-least' || cut ? 'at-least' : 'exact', doubts, ...own });
        break;
      }
      case 'void': {
        const fact = voidFact(entry);
        if (fact.how === 'measured' && fact.volumeMl !== undefined) found.push({ kind: 'void', atMs, measured: true, volumeMl: fact.volumeMl });
        else found.push({ kind: 'void', atMs, measured: false, lowMl: fact.lowMl, highMl: fact.highMl });
        break;
      }
      case 'drained': {
        const { route, volumeMl, difficulty } = entry.payload;
        if (difficulty === 'failed') break;
        if (route === 'from-catheter') break;
        found.push({ kind: 'drained', atMs, ...(volumeMl === undefined ? {} : { volumeMl }), thenIn: route === 'left-in' ? 'left-in' : 'out' });
        break;
      }
      case 'catheter-placed':
        found.push({ kind: 'catheter', atMs, state: 'in' });
        break;
      case 'catheter-removed':
        found.push({ kind: 'catheter', atMs, state: 'out' });
        break;
      case 'catheter-status':
        if (entry.payload.status === 'blocked' || entry.payload.status === 'clamped') found.push({ kind: 'catheter', atMs, state: 'blocked' });
        else if (entry.payload.status === 'flushed' || entry.payload.status === 'unclamped' || entry.payload.status === 'draining') found.push({ kind: 'catheter', atMs, state: 'flushed' });
        break;
      case 'bag-read':
        found.push({ kind: 'bag', fromMs: instantMs(entry.payload.sinceAt), atMs, volumeMl: entry.payload.volumeMl });
        break;
      case 'intake':
        found.push({ kind: 'intake', atMs, volumeMl: entry.payload.volumeMl, overMin: entry.payload.overMin ?? 0, route: entry.payload.route });
        break;
      case 'context':
        if (entry.payload.topic === 'loop-diuretic') found.push({ kind: 'covariate', atMs, name: 'loop-diuretic', state: entry.payload.route ?? 'oral' });
        if (entry.payload.topic === 'dialysis') found.push({ kind: 'covariate', atMs, name: 'little-or-no-urine', state: entry.payload.state ?? 'little-or-no-urine' });
        if (entry.payload.topic === 'regional-block') found.push({ kind: 'covariate', atMs, name: 'regional-block', state: entry.payload.state ?? 'present' });
        if (entry.payload.topic === 'opioid') found.push({ kind: 'covariate', atMs, name: 'opioid', state: entry.payload.state ?? 'given' });
        break;
      case 'symptom':
        if (entry.payload.symptom === 'urge-cannot-pass' || entry.payload.symptom === 'tried-nothing-passed') found.push({ kind: 'covariate', atMs, name: 'cannot-pass', state: 'present' });
        break;
      default:
    }
  }
  return found.sort((a, b) => a.atMs - b.atMs);
}

export interface EstimateInputs {
  readonly live: readonly Entry[];
  readonly setting: WatchSetting | undefined;
  readonly limitMl: number;
  readonly weightKg?: number;
  readonly ownCapacityMl?: number;
  readonly cautions: readonly Caution[];
  readonly irrigation: boolean;
}

/** Why there is no number, in the words of the record; undefined when the estimate is valid. */
export function whyNotValid(inputs: Pick<EstimateInputs, 'cautions' | 'irrigation'>): string | undefined {
  if (inputs.irrigation) return 'irrigation';
  for (const caution of ['neobladder', 'urostomy', 'ascites', 'pelvic-mass', 'peritoneal-dialysis'] as const) if (inputs.cautions.includes(caution)) return caution;
  return undefined;
}

export function priorOf(inputs: EstimateInputs): FillingPrior {
  const name = inputs.setting === undefined ? 'resting' : priorNames[inputs.setting];
  return priorFor(name, {
    ...(inputs.weightKg === undefined ? {} : { weightKg: inputs.weightKg }),
    ...(inputs.ownCapacityMl === undefined ? {} : { capacityMl: inputs.ownCapacityMl }),
  });
}

const limitForFilling = (limitMl: number): number => Math.max(50, limitMl);

export function estimateOf(inputs: EstimateInputs, nowMs: number): FillingEstimate | { readonly notValid: string } {
  const reason = whyNotValid(inputs);
  if (reason !== undefined) return { notValid: reason };
  const answer = estimateAt({ observations: observationsOf(inputs.live, nowMs), prior: priorOf(inputs), atMs: nowMs, limitMl: limitForFilling(inputs.limitMl), horizonMin });
  if (isRefusal(answer)) return { notValid: answer.code };
  return answer.validity.valid ? answer : { notValid: answer.validity.reason };
}

/**
 * The first instant after the last information at which the chance of being over the limit reaches the unit's
 * tolerance, if nothing leaves from then on. It depends on the entries only, so it stands still while the clock runs. Undefined when it isn't reached within a day, or when the estimate isn't valid.
 */
export function toleranceReachedMs(inputs: EstimateInputs, tolerance: number, nowMs: number): number | undefined {
  if (whyNotValid(inputs) !== undefined) return undefined;
  const observations = observationsOf(inputs.live, nowMs);
  const lastMs = observations.findLast((one) => one.kind === 'reading' || one.kind === 'void' || one.kind === 'drained' || one.kind === 'catheter')?.atMs;
  if (lastMs === undefined) return undefined;
  const fromMs = Math.min(lastMs, nowMs);
  const prior = priorOf(inputs);
  const settings = { prior };
  const known = pass(follow(observations.filter((one) => one.atMs <= fromMs), settings, fromMs), fromMs, settings);
  if (known.catheter === 'in') return undefined;
  const now = stories(known, prior);
  const overAt = (atMs: number): number => contentAbove(fillOn(known, now, fromMs, atMs, prior), inputs.limitMl);
  let before = fromMs;
  let overBefore = contentAbove(now, inputs.limitMl);
  if (overBefore >= tolerance) return fromMs;
  for (let atMs = fromMs + stepMs; atMs <= fromMs + horizonMin * minuteMs; atMs += stepMs) {
    const over = overAt(atMs);
    if (over >= tolerance) return before + ((tolerance - overBefore) / (over - overBefore)) * (atMs - before);
    before = atMs;
    overBefore = over;
  }
  return undefined;
}

/** Past: what was known then. Beyond `nowMs`: the forecast. Empty when the estimate isn't valid. */
export function estimateTrackFor(inputs: EstimateInputs, nowMs: number, span: { fromMs: number; toMs: number; everyMin: number }): readonly TrackPoint[] {
  if (whyNotValid(inputs) !== undefined) return [];
  const track = estimateTrack({ observations: observationsOf(inputs.live, nowMs), prior: priorOf(inputs), limitMl: limitForFilling(inputs.limitMl), horizonMin, nowMs, ...span });
  return isRefusal(track) ? [] : track;
}
