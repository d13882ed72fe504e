/**
 * The two sheets on which the tide chart is drawn. Wide: time runs to the right and content rises. Narrow: time runs
 * down the page like a tide table and content grows to the right, so that nothing scrolls sideways.
 *
 * Units     px; ms; mL
 */
import { scaleLinear } from 'd3-scale';
import { area, line } from 'd3-shape';
import { clockTime, hourMs, minuteMs, wallClock } from '@ebbline/core/quantity';
import type { TrackValue } from './chart-input.ts';
import type { Box } from './label-placing.ts';

export interface Frame {
  readonly form: 'wide' | 'narrow';
  readonly width: number;
  readonly height: number;
  readonly plot: Box;
  /** Highest volume drawn, mL. */
  readonly topMl: number;
  /** Position of an instant along the time axis, and of a volume along the other. */
  readonly time: (atMs: number) => number;
  readonly volume: (volumeMl: number) => number;
  readonly x: (atMs: number, volumeMl: number) => number;
  readonly y: (atMs: number, volumeMl: number) => number;
}

export const rowHeight = 31;
export const rowNames = ['looks', 'passed', 'in', 'catheter', 'watch'] as const;

export function frameOf(question: {
  readonly widthPx: number;
  readonly fromMs: number;
  readonly toMs: number;
  readonly topMl: number;
  readonly plotHeight?: number;
}): Frame {
  const { widthPx, fromMs, toMs, topMl } = question;
  const form = widthPx < 640 ? 'narrow' : 'wide';
  const hours = (toMs - fromMs) / hourMs;
  const plot: Box =
    form === 'wide'
      ? { x: 62, y: 46, width: widthPx - 62 - 14, height: question.plotHeight ?? 380 }
      : {
          x: 62,
          y: 56,
          width: Math.round((widthPx - 62) * 0.58),
          height: Math.max(420, Math.round(hours * 66)),
        };
  const timeScale = scaleLinear(
    [fromMs, toMs],
    form === 'wide' ? [plot.x, plot.x + plot.width] : [plot.y, plot.y + plot.height],
  );
  const volumeScale = scaleLinear(
    [0, topMl],
    form === 'wide' ? [plot.y + plot.height, plot.y] : [plot.x, plot.x + plot.width],
  );
  const time = (atMs: number): number => Math.round(timeScale(atMs) * 10) / 10;
  const volume = (volumeMl: number): number => Math.round(volumeScale(volumeMl) * 10) / 10;
  return {
    form,
    width: widthPx,
    height:
      form === 'wide' ? plot.y + plot.height + 34 + rowNames.length * rowHeight : plot.y + plot.height + 12,
    plot,
    topMl,
    time,
    volume,
    x: (atMs, volumeMl) => (form === 'wide' ? time(atMs) : volume(volumeMl)),
    y: (atMs, volumeMl) => (form === 'wide' ? volume(volumeMl) : time(atMs)),
  };
}

/**
 * How far up a reading's error is drawn: to twice the limit at most, or to the reading itself. A reading of many doubts
 * may be off tenfold; an axis that shows all of that shows nothing else. Its table twin says the whole interval.
 */
export function drawnHighMl(
  limitMl: number,
  event: {
    readonly volumeMl?: number | undefined;
    readonly intervalMl?: { readonly high: number } | undefined;
  },
): number {
  const volumeMl = event.volumeMl ?? 0;
  return Math.max(volumeMl, Math.min(event.intervalMl?.high ?? volumeMl, 2 * limitMl));
}

/** Highest volume to draw: a round hundred above the limit and above everything that is known. */
export function topOf(limitMl: number, volumesMl: readonly number[]): number {
  const wanted = Math.max(limitMl * 1.4, ...volumesMl.map((volumeMl) => volumeMl * 1.05));
  return Math.ceil(wanted / 100) * 100;
}

/** A band between two quantiles as a closed path. */
export function bandPath(
  frame: Frame,
  piece: readonly TrackValue[],
  low: (value: TrackValue) => number,
  high: (value: TrackValue) => number,
): string {
  const shape =
    frame.form === 'wide'
      ? area<TrackValue>()
          .x((value) => frame.time(value.atMs))
          .y0((value) => frame.volume(low(value)))
          .y1((value) => frame.volume(high(value)))
      : area<TrackValue>()
          .y((value) => frame.time(value.atMs))
          .x0((value) => frame.volume(low(value)))
          .x1((value) => frame.volume(high(value)));
  return shape.digits(1)([...piece]) ?? '';
}

export function linePath(frame: Frame, piece: readonly TrackValue[]): string {
  return (
    line<TrackValue>()
      .x((value) => frame.x(value.atMs, value.p50Ml))
      .y((value) => frame.y(value.atMs, value.p50Ml))
      .digits(1)([...piece]) ?? ''
  );
}

/** Full hours of the wall clock within a stretch of time, also where the clock changes by an hour or by half of one. */
export function hoursBetween(
  fromMs: number,
  toMs: number,
  zone: string,
): readonly { readonly atMs: number; readonly text: string }[] {
  const hours: { atMs: number; text: string }[] = [];
  let atMs = Math.ceil(fromMs / minuteMs) * minuteMs;
  while (atMs <= toMs) {
    const clock = wallClock(atMs, zone);
    if (clock.minute === 0) {
      const text = clockTime(atMs, zone);
      hours.push({ atMs, text: text.replace(/^(\d\d):00/, '$1') });
      atMs += 30 * minuteMs;
    } else atMs += Math.min(30, 60 - clock.minute) * minuteMs;
  }
  return hours;
}

/** Alternate filled and open blocks of half an hour (time) or 50 mL (content): the graduated edge. */
export function blocks(
  from: number,
  to: number,
  step: number,
  origin: number,
): readonly { readonly from: number; readonly to: number; readonly filled: boolean }[] {
  const list: { from: number; to: number; filled: boolean }[] = [];
  for (let index = Math.floor((from - origin) / step); origin + index * step < to; index += 1) {
    const start = Math.max(from, origin + index * step);
    const end = Math.min(to, origin + (index + 1) * step);
    if (end > start) list.push({ from: start, to: end, filled: Math.abs(index % 2) === 0 });
  }
  return list;
}
