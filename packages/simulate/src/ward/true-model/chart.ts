/**
 * What stands in a chart of the first generator by an instant, laid on its five-minute grid.
 *
 * Units     grid steps since the watch opened; mL
 */
import { hourMs, instantMs, minuteMs } from '@ebbline/core/quantity';
import { gridMin } from '../course.ts';
import type { ReadingFields, SimulatedLine, SymptomFields, VoidFields, WatchFields } from '../lines.ts';
import { chartedAs, notChartedBy } from './charting-times.ts';

export interface ForcedVoid {
  /** Undefined: nobody has charted it, but a reading says that it was. */
  readonly fields?: VoidFields;
  /** Steps at which it may have been, and how likely each. */
  readonly steps: readonly number[];
  readonly shares: readonly number[];
}

export interface ChartedReading {
  readonly fields: ReadingFields;
  /** When the last void was, as the reading tells; undefined: none within twenty minutes. */
  readonly lastVoidStep: number | undefined;
}

export interface KnownChart {
  readonly watch: WatchFields;
  readonly opensAtMs: number;
  readonly nowMs: number;
  readonly block: 'none' | 'present' | { readonly endedStep: number };
  readonly littleUrine: boolean;
  readonly diuretic?: { readonly step: number; readonly oral: boolean };
  readonly infusion?: { readonly step: number; readonly volumeMl: number; readonly overMin: number };
  readonly drinks: readonly { readonly step: number; readonly volumeMl: number }[];
  readonly readings: ReadonlyMap<number, ChartedReading>;
  /** Drains by step; undefined volume: not measured. */
  readonly drained: ReadonlyMap<number, number | undefined>;
  /** Looks that are known to have been, whether or not they are charted. */
  readonly lookSteps: ReadonlySet<number>;
  readonly voids: readonly ForcedVoid[];
  readonly pads: ReadonlyMap<number, VoidFields>;
  readonly symptoms: ReadonlyMap<number, SymptomFields>;
  /** By step: chance that what is to be written down of it is not yet. */
  readonly notYet: Float64Array;
  readonly steps: number;
}

const stepMs = gridMin * minuteMs;

/**
 * Lays out what was recorded by `nowMs`.
 *
 * @param lookAtMs when the staff looked, by its own rule; charted or not
 */
export function layOut(
  lines: readonly SimulatedLine[],
  opensAtMs: number,
  nowMs: number,
  lookAtMs: readonly number[],
): KnownChart {
  const known = lines.filter((line) => instantMs(line.recordedAt) <= nowMs);
  const stepOf = (ms: number): number => Math.round((ms - opensAtMs) / stepMs);
  const steps = Math.floor((nowMs - opensAtMs) / stepMs) + 1;
  let watch: WatchFields | undefined;
  let block: KnownChart['block'] = 'none';
  let littleUrine = false;
  let diuretic: KnownChart['diuretic'];
  let infusion: KnownChart['infusion'];
  const drinks: { step: number; volumeMl: number }[] = [];
  const readings = new Map<number, ChartedReading>();
  const drained = new Map<number, number | undefined>();
  const voids: ForcedVoid[] = [];
  const pads = new Map<number, VoidFields>();
  const symptoms = new Map<number, SymptomFields>();
  const looksByName = new Map<string, number>();
  for (const line of known) {
    if (line.kind !== 'reading') continue;
    const number = Number(/-K(\d+)$/.exec(line.look)?.[1] ?? 0);
    const step = stepOf(lookAtMs[number - 1] ?? instantMs(line.at));
    looksByName.set(line.recordedAt, step);
    readings.set(step, {
      fields: line,
      lastVoidStep: line.minutesSinceVoid === undefined ? undefined : step - line.minutesSinceVoid / gridMin,
    });
  }
  for (const line of known) {
    const step = stepOf(instantMs(line.at));
    switch (line.kind) {
      case 'watch':
        watch = line;
        break;
      case 'context':
        if (line.topic === 'regional-block')
          block = line.state === 'worn-off' ? { endedStep: step } : block === 'none' ? 'present' : block;
        if (line.topic === 'dialysis') littleUrine = true;
        if (line.topic === 'loop-diuretic') diuretic = { step, oral: line.route === 'oral' };
        break;
      case 'intake':
        if (line.route === 'iv') infusion = { step, volumeMl: line.volumeMl, overMin: line.overMin ?? 10 };
        else drinks.push({ step, volumeMl: line.volumeMl });
        break;
      case 'drained':
        drained.set(looksByName.get(line.recordedAt) ?? step, line.volumeMl);
        break;
      case 'symptom':
        symptoms.set(step, line);
        break;
      case 'void': {
        if (line.class === 'pad') {
          pads.set(Math.min(steps - 1, step), line);
          break;
        }
        const recordedAtMs = instantMs(line.recordedAt);
        const found: number[] = [];
        const shares: number[] = [];
        for (
          let back = stepOf(recordedAtMs) + 1;
          back >= 0 && back > stepOf(recordedAtMs) - 12 * 10;
          back -= 1
        ) {
          const share = chartedAs(
            opensAtMs + back * stepMs,
            { atMs: instantMs(line.at), quality: line.atQuality, recordedAtMs },
            true,
          );
          if (share <= 0) continue;
          found.unshift(back);
          shares.unshift(share);
        }
        voids.push({ fields: line, steps: found, shares });
        break;
      }
      case 'reading':
        break;
    }
  }
  if (watch === undefined) throw new Error('a chart begins with its watch');
  // A reading tells when the last void was: that settles the time of a charted one, or tells of one that is not.
  for (const { lastVoidStep } of readings.values()) {
    if (lastVoidStep === undefined) continue;
    const place = voids.findIndex((one) => one.steps.includes(lastVoidStep));
    if (place < 0) voids.push({ steps: [lastVoidStep], shares: [1] });
    else voids[place] = { ...(voids[place] as ForcedVoid), steps: [lastVoidStep], shares: [1] };
  }
  return {
    watch,
    opensAtMs,
    nowMs,
    block,
    littleUrine,
    ...(diuretic === undefined ? {} : { diuretic }),
    ...(infusion === undefined ? {} : { infusion }),
    drinks,
    readings,
    drained,
    lookSteps: new Set(lookAtMs.filter((ms) => ms <= nowMs).map(stepOf)),
    voids: voids.filter((one) => one.steps.length > 0),
    pads,
    symptoms,
    notYet: Float64Array.from({ length: steps }, (_, step) => notChartedBy(opensAtMs + step * stepMs, nowMs)),
    steps,
  };
}

/** Night as the ward counts it: 23 to 6, UTC. */
export const nightAt = (atMs: number): boolean => {
  const hour = (atMs / hourMs) % 24;
  return hour >= 23 || hour < 6;
};
