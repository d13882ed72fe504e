/**
 * What the tide chart is told, in volumes and instants: taken from facts, without words of the page and without
 * pixels, so that the drawing can be checked on its own.
 *
 * Units     mL; ms since the epoch
 */
import type { TrackPoint } from '@ebbline/core/filling';
import type { PatientFacts } from '@ebbline/core/facts';
import { hourMs, minuteMs } from '@ebbline/core/quantity';

export interface TrackValue {
  readonly atMs: number;
  readonly p05Ml: number;
  readonly p25Ml: number;
  readonly p50Ml: number;
  readonly p75Ml: number;
  readonly p95Ml: number;
  readonly forecast: boolean;
}

/** Something that stands at one instant on the chart or in a row under it. Words are for the label. */
export interface ChartEvent {
  readonly id: string;
  readonly atMs: number;
  readonly row: 'looks' | 'passed' | 'in' | 'catheter';
  readonly mark:
    | 'reading'
    | 'at-least'
    | 'not-obtained'
    | 'due'
    | 'overdue'
    | 'missed'
    | 'passed'
    | 'drained'
    | 'intake'
    | 'catheter';
  /** First words, said strongly; the rest after it. */
  readonly strong: string;
  readonly rest?: string;
  readonly volumeMl?: number;
  readonly intervalMl?: { readonly low: number; readonly high: number };
  /** Drawn on the chart itself, not only in its row. */
  readonly onChart: boolean;
}

export interface Span {
  readonly fromMs: number;
  readonly toMs: number;
  readonly words: string;
  readonly known: boolean;
}

export interface ChartInput {
  readonly nowMs: number;
  readonly zone: string;
  readonly fromMs: number;
  readonly toMs: number;
  readonly limitMl: number;
  /** "her own limit 600". */
  readonly limitWords: string;
  readonly track: readonly TrackValue[];
  readonly crossing?: {
    readonly earliestAtMs?: number;
    readonly likelyAtMs?: number;
    readonly latestAtMs?: number;
  };
  readonly events: readonly ChartEvent[];
  readonly notKnown: readonly Span[];
  readonly watch: readonly Span[];
  readonly over: readonly {
    readonly fromMs: number;
    readonly toMs: number;
    readonly topMl: number;
    readonly words: string;
    readonly rest: string;
  }[];
}

/** Hours of the past and of the future that a chart opens with: now stands at two thirds, as on the page of an almanac. */
const pastHours = 6; // S-patient-chart-hours
const futureHours = 3; // S-patient-chart-hours
const farthestHours = 8; // S-patient-chart-hours

/**
 * The stretch of time to show: from the start of the watch, at most six hours back, to where the latest crossing is
 * in view. `shiftHours` moves it by the keys "Earlier" and "Later".
 */
export function chartWindow(
  facts: PatientFacts,
  shiftHours = 0,
): { readonly fromMs: number; readonly toMs: number } {
  const { nowMs } = facts;
  const shift = shiftHours * hourMs;
  const firstMs =
    facts.watch.openedAtMs === undefined
      ? nowMs - pastHours * hourMs
      : facts.watch.openedAtMs - 20 * minuteMs;
  const fromMs = Math.min(nowMs - hourMs, Math.max(firstMs, nowMs - pastHours * hourMs));
  const crossing = 'notValid' in facts.estimate ? undefined : facts.estimate.crossing;
  // The last crossing that fits is in view; one that lies farther is said in words at the edge.
  const farthestMs = nowMs + farthestHours * hourMs;
  const inReach = [crossing?.earliestAtMs, crossing?.likelyAtMs, crossing?.latestAtMs].filter(
    (atMs): atMs is number => atMs !== undefined && atMs + 25 * minuteMs <= farthestMs,
  );
  const toMs = Math.max(nowMs + futureHours * hourMs, ...inReach.map((atMs) => atMs + 25 * minuteMs));
  return { fromMs: fromMs + shift, toMs: toMs + shift };
}

/** Points with something behind them: before the first reading, void or drain nothing is drawn, because nothing is known. */
export function valuesOf(points: readonly TrackPoint[]): readonly TrackValue[] {
  return points
    .filter((point) => point.validity.valid && point.informativeEntries > 0)
    .map((point) => ({ atMs: point.atMs, ...point.content, forecast: point.forecast }));
}

const breakingMarks = new Set(['passed', 'drained', 'reading', 'at-least']);

/** Instants at which something new was known: the band breaks there, upright, instead of leaning over it. */
export function breaksOf(events: readonly ChartEvent[]): readonly number[] {
  return events.filter((event) => event.onChart && breakingMarks.has(event.mark)).map((event) => event.atMs);
}

/**
 * The track in pieces without a break inside, and split at now. Where a piece ends at a break its last value is carried
 * to that instant, so that the break stands upright.
 */
export function piecesOf(
  track: readonly TrackValue[],
  breaks: readonly number[],
  nowMs: number,
): readonly (readonly TrackValue[])[] {
  const cuts = [...new Set([...breaks, nowMs])].toSorted((a, b) => a - b);
  const pieces: TrackValue[][] = [];
  let piece: TrackValue[] = [];
  let cut = 0;
  for (const value of track) {
    while (cut < cuts.length && (cuts[cut] as number) <= value.atMs) {
      const atMs = cuts[cut] as number;
      const last = piece.at(-1);
      cut += 1;
      if (!last) continue;
      const between = atMs === nowMs && !breaks.includes(atMs) ? mixed(last, value, atMs) : last;
      if (last.atMs < atMs) piece.push({ ...between, atMs, forecast: last.forecast });
      pieces.push(piece);
      piece =
        value.atMs > atMs
          ? [
              {
                ...(atMs === nowMs && !breaks.includes(atMs) ? between : value),
                atMs,
                forecast: atMs >= nowMs,
              },
            ]
          : [];
    }
    piece.push({
      ...value,
      forecast:
        value.atMs >= nowMs && piece.length > 0 ? (piece[0] as TrackValue).forecast : value.atMs >= nowMs,
    });
  }
  if (piece.length > 0) pieces.push(piece);
  return pieces.filter((one) => one.length > 1);
}

function mixed(a: TrackValue, b: TrackValue, atMs: number): TrackValue {
  const share = b.atMs === a.atMs ? 0 : (atMs - a.atMs) / (b.atMs - a.atMs);
  const mix = (from: number, to: number): number => from + (to - from) * share;
  return {
    atMs,
    p05Ml: mix(a.p05Ml, b.p05Ml),
    p25Ml: mix(a.p25Ml, b.p25Ml),
    p50Ml: mix(a.p50Ml, b.p50Ml),
    p75Ml: mix(a.p75Ml, b.p75Ml),
    p95Ml: mix(a.p95Ml, b.p95Ml),
    forecast: b.forecast,
  };
}

/** The band at an instant, between two values of one piece; undefined where nothing is known. */
export function bandAt(pieces: readonly (readonly TrackValue[])[], atMs: number): TrackValue | undefined {
  for (const piece of pieces) {
    const first = piece[0] as TrackValue;
    const last = piece.at(-1) as TrackValue;
    if (atMs < first.atMs || atMs > last.atMs) continue;
    const next = piece.findIndex((value) => value.atMs >= atMs);
    if (next <= 0) return first;
    return mixed(piece[next - 1] as TrackValue, piece[next] as TrackValue, atMs);
  }
  return undefined;
}
