// Proves     the tide chart draws what the facts say: where the limit, the crossing and the drops stand, on both sheets;
//            no label on another; the latest crossing in view on a narrow sheet without scrolling sideways.
// Published  the worked patient of the job map (invented): over 600 mL for about 38 minutes, range 31 to 47.
// Tolerance  positions to 0.5 px; the kept drawings are compared as text.
import { describe, expect, it } from 'vitest';
import fc from 'fast-check';
import { renderToStaticMarkup } from 'react-dom/server';
import { estimateTrackOf, foldPatient } from '@ebbline/core/facts';
import { bandAt, chartWindow, breaksOf, piecesOf, valuesOf, type ChartInput } from './chart-input.ts';
import { blocks, frameOf, hoursBetween, drawnHighMl, topOf } from './chart-frame.ts';
import { chartInputOf } from './chart-events.ts';
import { crossingMarks, narrowLabels, wideLabels } from './chart-labels.ts';
import { overlap, placeLabels, stackLabels, type LabelWish } from './label-placing.ts';
import { TideChart } from './tide-chart.tsx';
import { chartExample, flat } from './testing/chart-example.ts';
import { at, request, zone } from './testing/worked-patient.ts';

const facts = foldPatient(request);
const window = chartWindow(facts);
const track = valuesOf(estimateTrackOf(request, { ...window, everyMin: 5 }));
const input = chartInputOf(facts, track, zone, (owner) =>
  owner.kind === 'person' ? owner.person.toUpperCase() : owner.role,
);

const pieces = piecesOf(track, breaksOf(input.events), facts.nowMs);
const small: ChartInput = chartExample;
const frameFor = (chart: ChartInput, widthPx: number): ReturnType<typeof frameOf> =>
  frameOf({ widthPx, fromMs: chart.fromMs, toMs: chart.toMs, topMl: topOf(chart.limitMl, [750]) });

describe('the stretch of time', () => {
  it('opens with now in view and the latest crossing before the end', () => {
    expect(window.fromMs).toBeLessThan(facts.nowMs);
    expect(crossingMarks(small).map((mark) => mark.inView)).toEqual([true, true, true]);
    const near = {
      ...facts,
      estimate: {
        ...facts.estimate,
        crossing: {
          alreadyOver: false,
          earliestAtMs: at('19:08'),
          likelyAtMs: at('19:51'),
          latestAtMs: at('22:40'),
        },
      },
    } as typeof facts;
    expect(chartWindow(near).toMs).toBe(at('23:05'));
  });

  it('says at the edge when the latest crossing is farther than the sheet', () => {
    const far: ChartInput = {
      ...small,
      crossing: {
        earliestAtMs: at('19:08'),
        likelyAtMs: at('19:51'),
        latestAtMs: at('23:10') + 12 * 3_600_000,
      },
    };
    const words = wideLabels(far, frameFor(far, 1080), pieces)
      .find((label) => label.wish.id === 'crossing-latest')
      ?.wish.lines.map((line) => line.text);
    expect(words).toEqual(['latest', '15 May 11:10']);
  });

  it('moves by the keys and keeps its length', () => {
    const earlier = chartWindow(facts, -3);
    expect(earlier.toMs - earlier.fromMs).toBe(window.toMs - window.fromMs);
    expect(window.fromMs - earlier.fromMs).toBe(3 * 3_600_000);
  });
});

describe('the band', () => {
  const values = [flat(0, 100), flat(10, 200), flat(20, 50), flat(30, 60)];
  it('breaks at a drop instead of leaning over it', () => {
    const pieces = piecesOf(values, [15], 25);
    expect(pieces.map((piece) => piece.map((value) => value.atMs))).toEqual([
      [0, 10, 15],
      [15, 20, 25],
      [25, 30],
    ]);
    expect(bandAt(pieces, 14)?.p50Ml).toBe(200);
    expect(bandAt(pieces, 16)?.p50Ml).toBe(50);
  });

  it('is a forecast from now on and not before', () => {
    const pieces = piecesOf(values, [], 25);
    expect(pieces.map((piece) => piece.map((value) => value.forecast))).toEqual([
      [false, false, false, false],
      [true, true],
    ]);
    expect(bandAt(pieces, 25)?.p50Ml).toBe(55);
  });

  it('says nothing where nothing is known', () => {
    expect(bandAt(piecesOf(values, [], 25), 31)).toBeUndefined();
  });

  it('of the worked patient is cut at the void of 15:20 and the drain of 16:10', () => {
    const starts = pieces.map((piece) => piece[0]?.atMs);
    expect(starts).toContain(at('15:20'));
    expect(starts).toContain(at('16:10'));
    expect(bandAt(pieces, at('16:12'))?.p50Ml).toBeLessThan(150);
  });
});

describe('the frame', () => {
  it('has whole hours of the wall clock, also in a zone that is half an hour off', () => {
    expect(hoursBetween(at('13:10'), at('16:00'), 'Etc/UTC').map((hour) => hour.text)).toEqual([
      '14',
      '15',
      '16',
    ]);
    expect(hoursBetween(at('13:10'), at('15:40'), 'Asia/Kolkata').map((hour) => hour.text)).toEqual([
      '19',
      '20',
      '21',
    ]);
  });

  it('names the hour that a clock change repeats', () => {
    const from = Date.parse('2026-10-25T00:10:00Z');
    expect(hoursBetween(from, from + 2 * 3_600_000, 'Europe/Berlin').map((hour) => hour.text)).toEqual([
      '02 (second)',
      '03',
    ]);
  });

  it('has blocks that cover the edge without gap or overlap', () => {
    const list = blocks(7, 103, 10, 20);
    expect(list[0]?.from).toBe(7);
    expect(list.at(-1)?.to).toBe(103);
    for (const [index, block] of list.entries()) if (index > 0) expect(block.from).toBe(list[index - 1]?.to);
  });

  it('runs time across when wide and down when narrow, within the width it was given', () => {
    const wide = frameFor(input, 1080);
    const narrow = frameFor(input, 366);
    expect(wide.x(input.toMs, 0)).toBeGreaterThan(wide.x(input.fromMs, 0));
    expect(narrow.y(input.toMs, 0)).toBeGreaterThan(narrow.y(input.fromMs, 0));
    expect(narrow.x(input.toMs, narrow.topMl)).toBeLessThanOrEqual(366);
  });
});

describe('labels', () => {
  it('never stand on one another on either sheet', () => {
    for (const labels of [
      wideLabels(input, frameFor(input, 1080), pieces),
      narrowLabels(input, frameFor(input, 366), pieces),
    ]) {
      expect(labels.length).toBeGreaterThan(5);
      for (const one of labels)
        for (const other of labels)
          if (one !== other) expect(overlap(one, other), `${one.wish.id} on ${other.wish.id}`).toBe(0);
    }
  });

  it('never stand on one another, wherever the points lie', () => {
    const wishes = fc.array(
      fc.record({
        x: fc.integer({ min: 0, max: 800 }),
        y: fc.integer({ min: 0, max: 400 }),
        weight: fc.integer({ min: 1, max: 9 }),
        text: fc.string({ minLength: 1, maxLength: 24 }),
      }),
      { maxLength: 14 },
    );
    fc.assert(
      fc.property(wishes, (list) => {
        const asked = list.map(({ x, y, weight, text }, index): LabelWish => ({
          id: String(index),
          x,
          y,
          weight,
          lines: [{ text, size: 14 }],
        }));
        const placed = placeLabels(asked, { x: 0, y: 0, width: 800, height: 400 }, [], () => 0);
        const stacked = stackLabels(asked, { x: 0, y: 0, width: 120, height: 400 });
        return [placed, stacked].every((labels) =>
          labels.every((one) => labels.every((other) => one === other || overlap(one, other) === 0)),
        );
      }),
      { seed: 7, numRuns: 60 },
    );
  });

  it('name earliest, likely and latest on both sheets while all three lie ahead', () => {
    const then = { ...request, nowMs: at('16:40') };
    const factsThen = foldPatient(then);
    const trackThen = valuesOf(estimateTrackOf(then, { ...chartWindow(factsThen), everyMin: 5 }));
    const inputThen = chartInputOf(factsThen, trackThen, zone, () => 'K.L.');
    const piecesThen = piecesOf(trackThen, breaksOf(inputThen.events), factsThen.nowMs);
    for (const labels of [
      wideLabels(inputThen, frameFor(inputThen, 1080), piecesThen),
      narrowLabels(inputThen, frameFor(inputThen, 366), piecesThen),
    ]) {
      const ids = labels.map((label) => label.wish.id);
      expect(ids).toEqual(
        expect.arrayContaining(['crossing-earliest', 'crossing-likely', 'crossing-latest', 'now']),
      );
    }
  });
});

describe('the drawing', () => {
  it('says how long it was over the limit, known afterwards', () => {
    const markup = renderToStaticMarkup(<TideChart input={input} widthPx={1080} />);
    expect(markup).toContain('over 600 for about 38 min');
    expect(markup).toContain('data-over=""');
  });

  it('shows a forecast in its own pattern only beyond now', () => {
    const markup = renderToStaticMarkup(<TideChart input={input} widthPx={1080} />);
    expect(markup.match(/data-piece="forecast"/g)?.length).toBe(1);
    expect(markup.indexOf('data-piece="forecast"')).toBeGreaterThan(markup.lastIndexOf('data-piece="known"'));
  });

  it('says in words that there is no estimate instead of drawing one', () => {
    const none = chartInputOf({ ...facts, estimate: { notValid: 'irrigation' } }, [], zone, () => 'K.L.');
    const markup = renderToStaticMarkup(<TideChart input={none} widthPx={1080} />);
    expect(markup).toContain('irrigation runs: no estimate');
    expect(markup).not.toContain('data-piece');
  });

  it.each([
    ['wide', 1080],
    ['narrow', 366],
  ])('is kept as drawn, %s', async (name, widthPx) => {
    await expect(renderToStaticMarkup(<TideChart input={small} widthPx={widthPx} />)).toMatchFileSnapshot(
      `testing/tide-chart-${name}.svg`,
    );
  });
});

describe('the axis of the chart', () => {
  it('stays readable beside a reading whose error is many times the limit', () => {
    expect(drawnHighMl(600, { volumeMl: 560, intervalMl: { high: 12_000 } })).toBe(1200);
    expect(
      topOf(600, [drawnHighMl(600, { volumeMl: 560, intervalMl: { high: 12_000 } })]),
    ).toBeLessThanOrEqual(1300);
  });
  it('shows a volume above twice the limit, and the whole error below that', () => {
    expect(drawnHighMl(500, { volumeMl: 1400, intervalMl: { high: 1600 } })).toBe(1400);
    expect(drawnHighMl(600, { volumeMl: 560, intervalMl: { high: 695 } })).toBe(695);
    expect(drawnHighMl(600, {})).toBe(0);
  });
});
