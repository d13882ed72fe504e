/** What the labels on the chart say, and how much each weighs when there is not room for all. */
import { hourMs, minuteMs } from '@ebbline/core/quantity';
import { bandAt, type ChartEvent, type ChartInput, type TrackValue } from './chart-input.ts';
import type { Frame } from './chart-frame.ts';
import {
  placeLabels,
  stackLabels,
  textWidth,
  type Box,
  type LabelWish,
  type PlacedLabel,
} from './label-placing.ts';
import { aboutMl, clockOrDay } from '@ebbline/core/present';

/** Never more labels than this in one hour of chart; the rows and the table carry the rest. */
const labelsAnHour = 4; // S-patient-labels-an-hour

const crossingParts = [
  ['earliestAtMs', 'earliest'],
  ['likelyAtMs', 'likely'],
  ['latestAtMs', 'latest'],
] as const;

export interface CrossingMark {
  readonly atMs: number;
  readonly word: 'earliest' | 'likely' | 'latest';
  /** False when it lies beyond the drawing; then only words say it. */
  readonly inView: boolean;
}

/** Earliest, likely and latest; those that lie before now or beyond the drawing are not drawn on the line. */
export function crossingMarks(input: ChartInput): readonly CrossingMark[] {
  return crossingParts.flatMap(([name, word]) => {
    const atMs = input.crossing?.[name];
    if (atMs === undefined || atMs <= input.nowMs) return [];
    return [{ atMs, word, inView: atMs <= input.toMs && atMs >= input.fromMs }];
  });
}

function eventWish(event: ChartEvent, frame: Frame, pieces: readonly (readonly TrackValue[])[]): LabelWish {
  const volumeMl =
    event.mark === 'passed'
      ? (bandAt(pieces, event.atMs)?.p50Ml ?? 0)
      : event.mark === 'drained'
        ? Math.min(frame.topMl, event.volumeMl ?? 0) * 0.62
        : Math.min(frame.topMl, event.volumeMl ?? 0);
  const weight = {
    reading: 8,
    'at-least': 9,
    drained: 8,
    passed: 4,
    'not-obtained': 3,
    due: 2,
    overdue: 2,
    missed: 2,
    intake: 1,
    catheter: 1,
  }[event.mark];
  return {
    id: event.id,
    x: frame.x(event.atMs, volumeMl),
    y: frame.y(event.atMs, volumeMl),
    weight,
    lines: [
      { text: event.strong, size: 14, strong: true },
      ...(event.rest === undefined ? [] : [{ text: event.rest, size: 12.5 }]),
    ],
  };
}

const nowWish = (input: ChartInput, frame: Frame, band: TrackValue): LabelWish => ({
  id: 'now',
  x: frame.x(input.nowMs, band.p50Ml),
  y: frame.y(input.nowMs, band.p50Ml),
  weight: 20,
  lines: [
    { text: 'holds about', size: 12.5, deep: true },
    { text: aboutMl(band.p50Ml), size: 18, strong: true, deep: true, serif: true },
    { text: `${aboutMl(band.p05Ml)}–${aboutMl(band.p95Ml)}`, size: 12.5, deep: true },
  ],
  sides: ['left', 'above'],
});

export function wideLabels(
  input: ChartInput,
  frame: Frame,
  pieces: readonly (readonly TrackValue[])[],
): readonly PlacedLabel[] {
  const wishes: LabelWish[] = [];
  const band = bandAt(pieces, input.nowMs);
  const nowInView = input.nowMs >= input.fromMs && input.nowMs <= input.toMs;
  if (band && nowInView) wishes.push(nowWish(input, frame, band));
  for (const mark of crossingMarks(input).filter((one) => one.inView || one.atMs > input.toMs)) {
    wishes.push({
      id: `crossing-${mark.word}`,
      x: mark.inView ? frame.time(mark.atMs) : frame.plot.x + frame.plot.width - 6,
      y: frame.volume(input.limitMl),
      weight: mark.word === 'likely' ? 17 : 18,
      lines: [
        { text: mark.word, size: 12.5, deep: true },
        {
          text: clockOrDay(mark.atMs, input.nowMs, input.zone),
          size: 15,
          strong: true,
          deep: true,
          serif: true,
        },
      ],
      sides: ['above', 'below'],
    });
  }
  for (const over of input.over) {
    if (over.toMs < input.fromMs || over.toMs > input.toMs) continue;
    wishes.push({
      id: `over-${over.toMs}`,
      x: frame.time(Math.max(over.fromMs, input.fromMs)),
      y: frame.volume(Math.min(frame.topMl, (input.limitMl + over.topMl) / 2)),
      weight: 10,
      lines: [
        { text: over.words, size: 12.5, strong: true },
        { text: over.rest, size: 12.5 },
      ],
      sides: ['left', 'above', 'right'],
    });
  }
  const anHour = new Map<number, number>();
  const events = input.events
    .filter((event) => event.onChart && event.mark !== 'not-obtained')
    .map((event) => ({ event, wish: eventWish(event, frame, pieces) }));
  for (const { event, wish } of events.toSorted((a, b) => b.wish.weight - a.wish.weight)) {
    const hour = Math.floor(event.atMs / hourMs);
    const count = anHour.get(hour) ?? 0;
    if (count >= labelsAnHour) continue;
    anHour.set(hour, count + 1);
    wishes.push(wish);
  }
  const limitY = frame.volume(input.limitMl);
  const limitWidth = textWidth(input.limitWords, 13, true) + 10;
  const avoid: Box[] = input.events
    .filter((event) => event.onChart && event.volumeMl !== undefined)
    .map((event) => ({
      x: frame.time(event.atMs) - 8,
      y: frame.volume(Math.min(frame.topMl, event.volumeMl ?? 0)) - 8,
      width: 16,
      height: 16,
    }));
  for (const event of input.events) {
    const x = frame.time(event.atMs);
    if (event.onChart && event.intervalMl)
      avoid.push({
        x: x - 6,
        y: frame.volume(Math.min(event.intervalMl.high, frame.topMl)),
        width: 12,
        height:
          frame.volume(event.intervalMl.low) - frame.volume(Math.min(event.intervalMl.high, frame.topMl)),
      });
    if (event.onChart && event.mark === 'drained')
      avoid.push({
        x: x - 6,
        y: frame.volume(Math.min(event.volumeMl ?? 0, frame.topMl)),
        width: 12,
        height: frame.volume(0) - frame.volume(Math.min(event.volumeMl ?? 0, frame.topMl)),
      });
    if (event.onChart && event.mark === 'passed') {
      const before = bandAt(pieces, event.atMs - minuteMs)?.p50Ml ?? event.volumeMl ?? 0;
      avoid.push({
        x: x - 6,
        y: frame.volume(Math.min(before, frame.topMl)),
        width: 12,
        height: Math.max(
          14,
          frame.volume(bandAt(pieces, event.atMs + minuteMs)?.p50Ml ?? 0) -
            frame.volume(Math.min(before, frame.topMl)),
        ),
      });
    }
  }
  for (const over of input.over) {
    const from = frame.time(over.fromMs);
    avoid.push({
      x: from,
      y: frame.volume(Math.min(over.topMl, frame.topMl)),
      width: frame.time(over.toMs) - from,
      height: limitY - frame.volume(Math.min(over.topMl, frame.topMl)),
    });
  }
  avoid.push({ x: frame.plot.x, y: limitY - 17, width: limitWidth, height: 34 });
  if (nowInView)
    avoid.push({ x: frame.time(input.nowMs) - 1, y: frame.plot.y, width: 3, height: frame.plot.height });
  const crossings = crossingMarks(input).filter((one) => one.inView);
  if (crossings.length > 0) {
    const from = frame.time(Math.min(...crossings.map((one) => one.atMs)));
    const to = frame.time(Math.max(...crossings.map((one) => one.atMs)));
    avoid.push({ x: from - 4, y: limitY - 8, width: to - from + 8, height: 16 });
  }
  const inBand = (x: number, y: number): number => {
    const atMs = input.fromMs + ((x - frame.plot.x) / frame.plot.width) * (input.toMs - input.fromMs);
    const value = bandAt(pieces, atMs);
    if (!value) return 0;
    return y <= frame.volume(value.p05Ml) && y >= frame.volume(Math.min(value.p95Ml, frame.topMl)) ? 1 : 0;
  };
  const softly = (box: Box): number => {
    let hits = 0;
    for (const across of [0, 0.25, 0.5, 0.75, 1])
      for (const down of [0, 0.5, 1]) hits += inBand(box.x + across * box.width, box.y + down * box.height);
    const onLimit = box.y < limitY + 4 && box.y + box.height > limitY - 2 ? 0.6 : 0;
    return hits / 15 + onLimit;
  };
  return placeLabels(wishes, frame.plot, avoid, softly);
}

/** Room for labels beside the narrow chart. */
export const narrowColumn = (frame: Frame): Box => ({
  x: frame.plot.x + frame.plot.width + 16,
  y: frame.plot.y,
  width: frame.width - frame.plot.x - frame.plot.width - 16,
  height: frame.plot.height,
});

/** Words broken so that no line is wider than the column. */
function wrapped(text: string, size: number, width: number, strong = false): readonly string[] {
  const lines: string[] = [];
  let current = '';
  for (const word of text.split(' ')) {
    const longer = current === '' ? word : `${current} ${word}`;
    if (textWidth(longer, size, strong) > width - 4 && current !== '') {
      lines.push(current);
      current = word;
    } else current = longer;
  }
  return [...lines, current];
}

export function narrowLabels(
  input: ChartInput,
  frame: Frame,
  pieces: readonly (readonly TrackValue[])[],
): readonly PlacedLabel[] {
  const column = narrowColumn(frame);
  const wishes: LabelWish[] = [];
  const edge = frame.plot.x + frame.plot.width;
  const wish = (
    id: string,
    atMs: number,
    weight: number,
    strong: string,
    rest: string | undefined,
    deep: boolean,
  ): void => {
    wishes.push({
      id,
      x: edge,
      y: frame.time(atMs),
      weight,
      lines: [
        ...wrapped(strong, 13.5, column.width, true).map((text) => ({
          text,
          size: 13.5,
          strong: true,
          deep,
        })),
        ...(rest === undefined
          ? []
          : wrapped(rest, 12, column.width).map((text) => ({ text, size: 12, deep }))),
      ],
    });
  };
  const band = bandAt(pieces, input.nowMs);
  if (band && input.nowMs >= input.fromMs && input.nowMs <= input.toMs)
    wish(
      'now',
      input.nowMs,
      20,
      `holds about ${aboutMl(band.p50Ml)}`,
      `${aboutMl(band.p05Ml)}–${aboutMl(band.p95Ml)}`,
      true,
    );
  for (const mark of crossingMarks(input).filter((one) => one.inView || one.atMs > input.toMs)) {
    wish(
      `crossing-${mark.word}`,
      Math.min(mark.atMs, input.toMs),
      18,
      clockOrDay(mark.atMs, input.nowMs, input.zone),
      `${mark.word} crossing`,
      true,
    );
  }
  const weights = {
    'at-least': 12,
    reading: 11,
    drained: 11,
    overdue: 10,
    due: 10,
    passed: 8,
    missed: 7,
    'not-obtained': 6,
    catheter: 4,
    intake: 2,
  } as const;
  for (const event of input.events) {
    if (event.id.endsWith('-catheter')) continue;
    wish(event.id, event.atMs, weights[event.mark], event.strong, event.rest, false);
  }
  for (const span of input.watch)
    if (span.fromMs > input.fromMs && span.fromMs < input.toMs)
      wish(`watch-${span.fromMs}`, span.fromMs, 3, span.words, 'has the watch', false);
  for (const over of input.over)
    if (over.toMs >= input.fromMs && over.toMs <= input.toMs)
      wish(`over-${over.toMs}`, over.fromMs, 6, over.words, over.rest, false);
  return stackLabels(wishes, column);
}
