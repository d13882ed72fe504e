/** From facts to the estimate: entries become observations of the filling room, and its answer comes back. */
import { controlIsOn, instantMs, isRefusal, minuteMs } from '../quantity/index.ts';
import {
  estimateAt,
  estimateTrack,
  limitLikelyAtMs,
  ownPrior,
  priorFor,
  wholeMinute,
  type FillingEstimate,
  type FillingObservation,
  type FillingPrior,
  type ReadingObservation,
  type TrackPoint,
  type UnitFactors,
} from '../filling/index.ts';
import type { Caution, Entry, WatchSetting } from '../record/index.ts';
import { instilledThroughMl } from './backfill.ts';
import { catheterStays } from './catheter.ts';
import { mixedVoidShare, unreliableCautions, voidFact, z90 } from './volumes.ts';

/** How far ahead a crossing is looked for, min. */
const horizonMin = 24 * 60;

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

/** The void of which a watch was told: it happened some time before, and its size is not known. S-made-void-sizes */
const toldVoidMl: readonly [number, number] = [50, 450];

/** How far the content may be from what was put in: a rest left before, and a measuring jug. Common practice (S-common-practice). */
const leastInstilledErrorMl = 20;
const instilledErrorShare = 0.1;

/** What people say when they feel that they should pass urine, and can't. */
const cannotPassWords: ReadonlySet<string> = new Set(['urge-cannot-pass', 'tried-nothing-passed']);

type ReadingEntry = Extract<Entry, { kind: 'reading' }>;

/** When an entry counts from: one charted ahead of the clock that recorded it counts from its recording. */
export const countsFromMs = (entry: Entry): number =>
  Math.min(instantMs(entry.effectiveAt), instantMs(entry.recordedAt));

/** Repeats of one look share their error, so they count as one reading: the mean of the whole ones, else the largest bound. */
export function lookOf(entries: readonly ReadingEntry[]): ReadingObservation {
  const first = entries[0] as ReadingEntry;
  const atMs = Math.max(...entries.map(countsFromMs));
  const whole = entries.filter((one) => one.payload.result === 'exact');
  if (whole.length === 0) {
    return {
      kind: 'reading',
      atMs,
      volumeMl: Math.max(...entries.map((one) => one.payload.volumeMl ?? 0)),
      bound: 'at-least',
      doubts: first.payload.doubts,
    };
  }
  const clean = whole.filter((one) => one.payload.doubts.length === 0);
  const used = clean.length > 0 ? clean : whole;
  const volumeMl = used.reduce((sum, one) => sum + (one.payload.volumeMl ?? 0), 0) / used.length;
  const { lowMl, highMl } = (used.at(-1) as ReadingEntry).payload;
  const own =
    lowMl !== undefined && highMl !== undefined && highMl > lowMl
      ? { standardDeviationMl: (highMl - lowMl) / (2 * z90) }
      : {};
  return {
    kind: 'reading',
    atMs,
    volumeMl,
    bound: 'exact',
    doubts: clean.length > 0 ? [] : [...new Set(whole.flatMap((one) => one.payload.doubts))],
    ...own,
  };
}

/** What a patient's live entries say to the filling room, up to an instant. */
export function observationsOf(live: readonly Entry[], untilMs: number): readonly FillingObservation[] {
  const found: FillingObservation[] = [];
  const looks = new Map<string, ReadingEntry[]>();
  const catheterAt = (atMs: number): boolean =>
    catheterStays(live, untilMs).some((one) => one.fromMs <= atMs && atMs <= one.toMs);
  for (const entry of live) {
    const atMs = countsFromMs(entry);
    if (atMs > untilMs) continue;
    switch (entry.kind) {
      case 'watch-opened': {
        const { lastVoidAt, setting } = entry.payload;
        if (lastVoidAt !== undefined && !catheterAt(atMs)) {
          found.push({
            kind: 'void',
            atMs: Math.min(atMs, instantMs(lastVoidAt)),
            measured: false,
            lowMl: toldVoidMl[0],
            highMl: toldVoidMl[1],
          });
        }
        found.push({ kind: 'covariate', atMs, name: 'watch-opens', state: priorNames[setting] });
        break;
      }
      case 'reading': {
        if (entry.payload.volumeMl === undefined || entry.payload.result === 'not-obtained') break;
        const key = entry.payload.look ?? entry.id;
        const held = looks.get(key);
        if (held) held.push(entry);
        else looks.set(key, [entry]);
        break;
      }
      case 'void': {
        const fact = voidFact(entry);
        if (fact.volumeMl === undefined)
          found.push({
            kind: 'void',
            atMs,
            measured: false,
            lowMl: fact.lowMl,
            highMl: fact.highMl,
            ...(fact.how === 'pad-weighed' || entry.payload.sinceAt !== undefined ? { intoPad: true } : {}),
          });
        else
          found.push({
            kind: 'void',
            atMs,
            measured: true,
            volumeMl: fact.volumeMl,
            ...(fact.how === 'mixed' ? { relativeSd: mixedVoidShare } : {}),
          });
        break;
      }
      case 'drained': {
        const { route, volumeMl, difficulty } = entry.payload;
        if (difficulty === 'failed' || route === 'from-catheter') break;
        found.push({
          kind: 'drained',
          atMs,
          ...(volumeMl === undefined ? {} : { volumeMl }),
          thenIn: route === 'left-in' ? 'left-in' : 'out',
        });
        break;
      }
      case 'catheter-placed':
        found.push({ kind: 'catheter', atMs, state: 'in' });
        break;
      case 'catheter-removed': {
        const instilledMl = instilledThroughMl(live, instantMs(entry.effectiveAt));
        if (instilledMl === undefined) {
          found.push({ kind: 'catheter', atMs, state: 'out' });
          break;
        }
        // The bladder was emptied and filled by hand: what was known of its content before no longer counts.
        const kept = found.filter((one) => one.kind === 'covariate' || one.kind === 'intake');
        found.splice(0, found.length, ...kept);
        looks.clear();
        found.push({
          kind: 'reading',
          atMs,
          volumeMl: instilledMl,
          bound: 'exact',
          doubts: [],
          standardDeviationMl: Math.max(leastInstilledErrorMl, instilledErrorShare * instilledMl),
        });
        break;
      }
      case 'catheter-status':
        if (entry.payload.status === 'blocked' || entry.payload.status === 'clamped')
          found.push({ kind: 'catheter', atMs, state: 'blocked' });
        else if (!entry.payload.status.startsWith('irrigation'))
          found.push({ kind: 'catheter', atMs, state: 'flushed' });
        break;
      case 'bag-read':
        found.push({
          kind: 'bag',
          fromMs: Math.min(instantMs(entry.payload.sinceAt), atMs - minuteMs),
          atMs,
          volumeMl: entry.payload.volumeMl,
        });
        break;
      case 'intake':
        found.push({
          kind: 'intake',
          atMs,
          volumeMl: entry.payload.volumeMl,
          overMin: entry.payload.overMin ?? 10,
          route: entry.payload.route,
        });
        break;
      case 'context': {
        const { topic, state, route } = entry.payload;
        if (topic === 'loop-diuretic')
          found.push({ kind: 'covariate', atMs, name: topic, state: route ?? state ?? 'given' });
        if (topic === 'dialysis')
          found.push({
            kind: 'covariate',
            atMs,
            name: 'little-or-no-urine',
            state: state ?? 'little-or-no-urine',
          });
        if (topic === 'regional-block' || topic === 'opioid')
          found.push({ kind: 'covariate', atMs, name: topic, state: state ?? 'present' });
        break;
      }
      case 'symptom':
        if (cannotPassWords.has(entry.payload.symptom))
          found.push({ kind: 'covariate', atMs, name: 'cannot-pass', state: 'present' });
        break;
      default:
    }
  }
  for (const entries of looks.values()) found.push(lookOf(entries));
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
  /** How far the ward's clock is ahead of UTC. */
  readonly clockAheadMs: number;
  /** The unit's own starting figures, where it has some. */
  readonly ownFigures?: UnitFactors;
}

/** Why there is no number, in the words of the record; undefined when the estimate is valid. */
export function whyNotValid(inputs: Pick<EstimateInputs, 'cautions' | 'irrigation'>): string | undefined {
  if (inputs.irrigation) return 'irrigation';
  return unreliableCautions.find((one) => inputs.cautions.includes(one));
}

/** Cautions that tell of something beside the bladder that may be read as urine (S-clinical-Q11, S-job-4.2). */
const otherFluidCautions: readonly Caution[] = [
  'ascites',
  'large-uterus',
  'peritoneal-dialysis',
  'pelvic-mass',
];

export function priorOf(inputs: EstimateInputs): FillingPrior {
  const name = inputs.setting === undefined ? 'resting' : priorNames[inputs.setting];
  const prior = priorFor(name, {
    ...(inputs.weightKg === undefined ? {} : { weightKg: inputs.weightKg }),
    ...(inputs.ownCapacityMl === undefined ? {} : { capacityMl: inputs.ownCapacityMl }),
    otherFluidNear: otherFluidCautions.some((one) => inputs.cautions.includes(one)),
  });
  return inputs.ownFigures === undefined ? prior : ownPrior(prior, inputs.ownFigures);
}

const numbers = new WeakMap<UnitFactors, number>();
let numbered = 0;
/** A number for each set of figures that was met: short in a key. */
function numberOf(figures: UnitFactors | undefined): number {
  if (figures === undefined) return 0;
  const known = numbers.get(figures);
  if (known !== undefined) return known;
  numbered += 1;
  numbers.set(figures, numbered);
  return numbered;
}

export const limitForFilling = (limitMl: number): number => Math.max(50, limitMl);

const kept = new Map<string, unknown>();
const keepAtMost = 2000;

/**
 * What was worked out last, for the same question: the entries of a patient seldom change, and a ward is folded again
 * every minute. The oldest is dropped first; nothing of it leaves this module.
 */
export function remembered<Answer>(
  asked: readonly [string, number, number, EstimateInputs, readonly FillingObservation[]],
  work: () => Answer,
): Answer {
  const [name, figure, atMs, inputs, observations] = asked;
  const { setting, limitMl, weightKg, ownCapacityMl, cautions, clockAheadMs, ownFigures } = inputs;
  const key = JSON.stringify([
    name,
    figure,
    wholeMinute(atMs),
    setting,
    limitMl,
    weightKg,
    ownCapacityMl,
    cautions,
    clockAheadMs,
    numberOf(ownFigures),
    observations,
    // The controls that the tests of hazards switch off change what is worked out.
    controlIsOn('at-least-is-a-bound'),
    controlIsOn('filled-despite-catheter'),
    controlIsOn('estimate-not-valid'),
  ]);
  if (kept.has(key)) return kept.get(key) as Answer;
  const answer = work();
  if (kept.size >= keepAtMost)
    for (const oldest of [...kept.keys()].slice(0, keepAtMost / 4)) kept.delete(oldest);
  kept.set(key, answer);
  return answer;
}

export function estimateOf(
  inputs: EstimateInputs,
  nowMs: number,
  observations: readonly FillingObservation[] = observationsOf(inputs.live, nowMs),
  aheadMin: number = horizonMin,
): FillingEstimate | { readonly notValid: string } {
  const reason = whyNotValid(inputs);
  if (reason !== undefined) return { notValid: reason };
  const answer = remembered(['estimate', aheadMin, nowMs, inputs, observations], () =>
    estimateAt({
      observations,
      prior: priorOf(inputs),
      atMs: nowMs,
      limitMl: limitForFilling(inputs.limitMl),
      horizonMin: aheadMin,
      clockAheadMs: inputs.clockAheadMs,
    }),
  );
  if (isRefusal(answer)) return { notValid: answer.code };
  return answer.validity.valid ? answer : { notValid: answer.validity.reason };
}

/**
 * The first instant after the last information at which the chance of being over the limit reaches the unit's
 * tolerance, if nothing leaves from then on. It depends on the entries only, so it stands still while the clock runs. Undefined when it isn't reached within a day, or when the estimate isn't valid.
 */
export function toleranceReachedMs(
  inputs: EstimateInputs,
  tolerance: number,
  nowMs: number,
  observations: readonly FillingObservation[] = observationsOf(inputs.live, nowMs),
): number | undefined {
  if (whyNotValid(inputs) !== undefined) return undefined;
  const lastMs = observations.findLast(
    (one) =>
      one.kind === 'reading' || one.kind === 'void' || one.kind === 'drained' || one.kind === 'catheter',
  )?.atMs;
  if (lastMs === undefined) return undefined;
  const fromMs = Math.min(lastMs, nowMs);
  const seen = observations.filter((one) => one.atMs <= fromMs);
  return remembered(['tolerance', tolerance, fromMs, inputs, seen], () =>
    reachedMs(inputs, tolerance, fromMs, seen),
  );
}

function reachedMs(
  inputs: EstimateInputs,
  tolerance: number,
  fromMs: number,
  observations: readonly FillingObservation[],
): number | undefined {
  const reached = limitLikelyAtMs({
    observations,
    prior: priorOf(inputs),
    atMs: fromMs,
    limitMl: limitForFilling(inputs.limitMl),
    horizonMin,
    share: tolerance,
    clockAheadMs: inputs.clockAheadMs,
  });
  return isRefusal(reached) ? undefined : reached;
}

/** Past: what was known then. Beyond `nowMs`: the forecast. Empty when the estimate isn't valid. */
export function estimateTrackFor(
  inputs: EstimateInputs,
  nowMs: number,
  span: { fromMs: number; toMs: number; everyMin: number },
): readonly TrackPoint[] {
  if (whyNotValid(inputs) !== undefined) return [];
  const track = estimateTrack({
    observations: observationsOf(inputs.live, nowMs),
    prior: priorOf(inputs),
    limitMl: limitForFilling(inputs.limitMl),
    horizonMin,
    clockAheadMs: inputs.clockAheadMs,
    nowMs,
    ...span,
  });
  return isRefusal(track) ? [] : track;
}
