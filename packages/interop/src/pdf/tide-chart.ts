/**
 * The tide chart on paper: what the bladder probably held, with bands, this person's limit, and what happened, in black
 * and grey only. Past now the bands are upright lines: a forecast.
 *
 * Units     x time, y mL
 * Not for   acting on: the sentence above it says the same and comes first
 */
import { hourMs, minuteMs } from '@ebbline/core/quantity';
import type { PatientFacts } from '@ebbline/core/facts';
import { clock, whole } from '@ebbline/core/present';
import type { Paper } from './paper.ts';

export interface ChartPoint {
  readonly atMs: number;
  readonly content: {
    readonly p05Ml: number;
    readonly p25Ml: number;
    readonly p50Ml: number;
    readonly p75Ml: number;
    readonly p95Ml: number;
  };
  readonly forecast: boolean;
}

export interface ChartSpan {
  readonly fromMs: number;
  readonly toMs: number;
}

const black = '#000000';
const pale = '#dddddd';
const mid = '#b4b4b4';
const blockMs = 30 * minuteMs;
const blockMl = 50;

export function chartSpan(nowMs: number): ChartSpan {
  const half = Math.floor(nowMs / blockMs) * blockMs;
  return { fromMs: half - 6 * hourMs, toMs: half + 3 * hourMs };
}

/** Draws into a frame; the caller tags it as one figure. */
export function drawTideChart(
  paper: Paper,
  facts: PatientFacts,
  track: readonly ChartPoint[],
  span: ChartSpan,
  zone: string,
  frame: { x: number; y: number; width: number; height: number },
): void {
  const { doc } = paper;
  const plot = { x: frame.x + 34, y: frame.y + 12, width: frame.width - 78, height: frame.height - 40 };
  const seen = facts.readings.filter(
    (one) => one.volumeMl !== undefined && one.atMs >= span.fromMs && one.atMs <= span.toMs,
  );
  const highest = Math.max(
    facts.limitMl * 1.25,
    400,
    ...track.map((one) => one.content.p95Ml),
    ...seen.map((one) => one.volumeMl ?? 0),
  );
  const topMl = Math.min(2000, Math.ceil(highest / 200) * 200);
  const xOf = (ms: number): number => plot.x + ((ms - span.fromMs) / (span.toMs - span.fromMs)) * plot.width;
  const yOf = (ml: number): number =>
    plot.y + plot.height - (Math.min(topMl, Math.max(0, ml)) / topMl) * plot.height;
  const label = (
    text: string,
    x: number,
    y: number,
    size = 7,
    weight: 'regular' | 'bold' = 'regular',
  ): void => {
    const laid = paper.lay(text, 200, { size, weight });
    const width = (laid.lines[0] ?? []).reduce((sum, one) => sum + one.width, 0);
    doc.rect(x - 1, y - 0.5, width + 2, size * 1.25).fill('#ffffff');
    paper.draw(laid, x, y);
  };

  doc.save();
  // guides
  doc.lineWidth(0.25);
  for (let ml = 200; ml < topMl; ml += 200)
    doc
      .moveTo(plot.x, yOf(ml))
      .lineTo(plot.x + plot.width, yOf(ml))
      .stroke('#999999');

  // bands
  const band = (
    points: readonly ChartPoint[],
    low: keyof ChartPoint['content'],
    high: keyof ChartPoint['content'],
    fill: string,
  ): void => {
    if (points.length < 2) return;
    const [first] = points as [ChartPoint];
    doc.moveTo(xOf(first.atMs), yOf(first.content[high]));
    for (const one of points) doc.lineTo(xOf(one.atMs), yOf(one.content[high]));
    for (const one of [...points].reverse()) doc.lineTo(xOf(one.atMs), yOf(one.content[low]));
    doc.closePath().lineWidth(0.5).fillAndStroke(fill, black);
  };
  const inSpan = track.filter((one) => one.atMs >= span.fromMs && one.atMs <= span.toMs);
  const past = inSpan.filter((one) => !one.forecast);
  const ahead = inSpan.filter((one) => one.forecast);
  const joined = past.length > 0 && ahead.length > 0 ? [past.at(-1) as ChartPoint, ...ahead] : ahead;
  band(past, 'p05Ml', 'p95Ml', pale);
  band(past, 'p25Ml', 'p75Ml', mid);
  doc.lineWidth(0.7);
  for (const one of joined) {
    const x = xOf(one.atMs);
    doc.moveTo(x, yOf(one.content.p05Ml)).lineTo(x, yOf(one.content.p95Ml)).stroke('#777777');
    doc
      .lineWidth(1.8)
      .moveTo(x, yOf(one.content.p25Ml))
      .lineTo(x, yOf(one.content.p75Ml))
      .stroke('#555555')
      .lineWidth(0.7);
  }
  const line = (points: readonly ChartPoint[], dashed: boolean): void => {
    const [first] = points;
    if (first === undefined || points.length < 2) return;
    doc.lineWidth(1.4).moveTo(xOf(first.atMs), yOf(first.content.p50Ml));
    for (const one of points) doc.lineTo(xOf(one.atMs), yOf(one.content.p50Ml));
    if (dashed) doc.dash(3, { space: 2 });
    doc.stroke(black).undash();
  };
  line(past, false);
  line(joined, true);

  // this person's limit: a line with ticks under it
  const limitY = yOf(facts.limitMl);
  doc
    .lineWidth(1.2)
    .moveTo(plot.x, limitY)
    .lineTo(plot.x + plot.width, limitY)
    .stroke(black);
  doc.lineWidth(0.5);
  for (let x = plot.x + 6; x < plot.x + plot.width; x += 12)
    doc
      .moveTo(x, limitY)
      .lineTo(x, limitY + 3)
      .stroke(black);
  label('limit', plot.x + plot.width + 4, limitY - 9, 7, 'bold');
  label(`${whole(facts.limitMl)} mL`, plot.x + plot.width + 4, limitY, 7, 'bold');

  // voids and drains: arrows down from the line
  const at = (ms: number): ChartPoint | undefined => inSpan.findLast((one) => one.atMs < ms) ?? inSpan[0];
  const arrow = (ms: number, weight: number, words: string, dashed: boolean, level: number): void => {
    const x = xOf(ms);
    const from = yOf(Math.min(topMl, (at(ms)?.content.p50Ml ?? topMl * 0.6) + topMl * 0.06));
    const to = plot.y + plot.height - 4;
    doc
      .lineWidth(weight)
      .moveTo(x, from)
      .lineTo(x, to - 4);
    if (dashed) doc.dash(2, { space: 2 });
    doc.stroke(black).undash();
    doc
      .moveTo(x - 3.5, to - 6)
      .lineTo(x + 3.5, to - 6)
      .lineTo(x, to)
      .fill(black);
    label(words, x + 5, plot.y + plot.height - 14 - level * 9);
  };
  let level = 0;
  for (const one of facts.voids) {
    if (one.atMs < span.fromMs || one.atMs > span.toMs) continue;
    arrow(
      one.atMs,
      1.4,
      one.volumeMl === undefined ? 'passed, not measured' : `passed ${whole(one.volumeMl)}`,
      one.volumeMl === undefined,
      (level += 1) % 3,
    );
  }
  for (const one of facts.drains) {
    if (one.atMs < span.fromMs || one.atMs > span.toMs) continue;
    arrow(
      one.atMs,
      2.4,
      one.volumeMl === undefined ? 'drained' : `drained ${whole(one.volumeMl)}`,
      false,
      (level += 1) % 3,
    );
  }

  // readings: open circle with its error, or an open roof for "at least"
  for (const [index, one] of seen.entries()) {
    const x = xOf(one.atMs);
    const y = yOf(one.volumeMl ?? 0);
    doc.lineWidth(0.8);
    if (one.result === 'at-least' || one.trust === 'low-bound-only') {
      const roof = Math.max(plot.y, y - 26);
      doc
        .moveTo(x - 6, y)
        .lineTo(x + 6, y)
        .stroke(black);
      doc
        .moveTo(x - 6, y)
        .lineTo(x - 6, roof)
        .moveTo(x + 6, y)
        .lineTo(x + 6, roof)
        .stroke(black);
      doc.lineWidth(0.4);
      for (let step = y; step > roof + 6; step -= 4)
        doc
          .moveTo(x - 6, step)
          .lineTo(x + 6, step - 6)
          .stroke(black);
      label(`at least ${whole(one.volumeMl ?? 0)}`, x - 20, y + 2);
    } else {
      if (one.intervalMl)
        doc.moveTo(x, yOf(one.intervalMl.low)).lineTo(x, yOf(one.intervalMl.high)).stroke(black);
      doc.circle(x, y, 3).fillAndStroke('#ffffff', black);
      label(whole(one.volumeMl ?? 0), x + 6, index % 2 === 0 ? y - 10 : y + 3, 7, 'bold');
    }
  }

  // now: a flag on a rule
  const nowX = xOf(facts.nowMs);
  doc
    .lineWidth(1)
    .moveTo(nowX, plot.y - 8)
    .lineTo(nowX, plot.y + plot.height)
    .stroke(black);
  doc
    .moveTo(nowX, plot.y - 8)
    .lineTo(nowX + 22, plot.y - 8)
    .lineTo(nowX + 22, plot.y + 1)
    .lineTo(nowX, plot.y + 1)
    .fillAndStroke('#ffffff', black);
  paper.draw(paper.lay('now', 30, { size: 7, weight: 'bold' }), nowX + 3, plot.y - 8);

  // the graduated edge is the axis
  const bottomY = plot.y + plot.height;
  doc.lineWidth(0.6);
  for (let ms = span.fromMs, filled = true; ms < span.toMs; ms += blockMs, filled = !filled) {
    const rect = doc.rect(xOf(ms), bottomY, xOf(ms + blockMs) - xOf(ms), 4);
    if (filled) rect.fillAndStroke(black, black);
    else rect.stroke(black);
    if ((ms - span.fromMs) % hourMs === 0)
      paper.draw(paper.lay(clock(ms, zone), 60, { size: 7 }), xOf(ms) - 8, bottomY + 6);
  }
  for (let ml = 0, filled = true; ml < topMl; ml += blockMl, filled = !filled) {
    const y = yOf(ml + blockMl);
    const rect = doc.rect(plot.x - 4, y, 4, yOf(ml) - y);
    if (filled) rect.fillAndStroke(black, black);
    else rect.stroke(black);
  }
  for (let ml = 0; ml <= topMl; ml += 200)
    paper.draw(paper.lay(whole(ml), 30, { size: 7 }), plot.x - 26, yOf(ml) - 5);
  paper.draw(paper.lay('mL', 20, { size: 7 }), plot.x - 26, plot.y - 12);
  paper.draw(
    paper.lay(
      'Pale band: nine times in ten. Darker: half the time. Upright lines: forecast. Arrows: passed, drained (mL). Circle: reading with its error.',
      plot.width,
      { size: 7, grey: true },
    ),
    plot.x,
    bottomY + 16,
  );
  doc.restore();
}

/** The chart in one sentence, for people who listen. */
export function chartWords(facts: PatientFacts, zone: string): string {
  const rows = [
    ...facts.readings.map(
      (one) =>
        [
          one.atMs,
          `read ${one.result === 'at-least' ? 'at least ' : ''}${one.volumeMl ?? 'nothing'} mL`,
        ] as const,
    ),
    ...facts.voids.map(
      (one) =>
        [
          one.atMs,
          one.volumeMl === undefined ? 'passed, not measured' : `passed ${one.volumeMl} mL`,
        ] as const,
    ),
    ...facts.drains.map((one) => [one.atMs, `drained ${one.volumeMl ?? 'an unmeasured volume'} mL`] as const),
  ].sort((a, b) => a[0] - b[0]);
  return `Chart of what the bladder probably held, limit ${facts.limitMl} mL. ${rows.map(([ms, text]) => `${clock(ms, zone)} ${text}`).join('; ')}.`;
}
