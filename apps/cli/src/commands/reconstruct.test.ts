// Proves     `ebbline estimate --reconstruct` in words and JSON; and on simulated wards with known content that looking
//            back is surer and nearer than the estimate of the time was.
// Published  public simulated wards (read from EBBLINE_SAMPLES)
// Tolerance  exact words; coverage of 90 % intervals 86 to 94 in 100 on the public wards. On our own generators the
//            estimate itself is too sure (ADR 0014): there, no fewer held than by the estimate of the time
import { spawnSync } from 'node:child_process';
import { existsSync, readFileSync } from 'node:fs';
import path from 'node:path';
import { fileURLToPath } from 'node:url';
import { describe, expect, it } from 'vitest';
import { estimateTrack, reconstruct } from '@ebbline/core/filling';
import { hourMs, minuteMs, orThrow, readInstant } from '@ebbline/core/quantity';
import { knownThen, readWardLog } from '@ebbline/interop/wardlog';
import {
  otherPatient,
  simulateWard,
  watchedPatient,
  type PatientGenerator,
  type Staff,
} from '@ebbline/simulate';
import { reconstructedOf } from './reconstruct.ts';

const here = (name: string): string => fileURLToPath(new URL(name, import.meta.url));
const log = path.join(here('../../../../examples/ward'), 'log.ndjson');
const samples = process.env['EBBLINE_SAMPLES'];

function run(...words: readonly string[]): { code: number | null; out: string; complaint: string } {
  const done = spawnSync(process.execPath, [here('../main.ts'), 'estimate', ...words], { encoding: 'utf8' });
  return { code: done.status, out: done.stdout, complaint: done.stderr };
}

describe('ebbline estimate --reconstruct', () => {
  it('says of each patient since when, for how long and by how much they were over, or that they never were', () => {
    const { code, out } = run(log, '--reconstruct');
    expect(code).toBe(0);
    expect(out).toMatch(
      /heron-P01:\n {2}690 mL drained at 2026-10-22 16:10, limit 600 mL: probably over from 2026-10-22 15:\d\d \(2026-10-22 1\d:\d\d to 2026-10-22 1[56]:\d\d\), \d\.\d h \(\d\.\d to \d\.\d\), \d+ mL·h \(\d+ to \d+\)/,
    );
    expect(out).toContain('heron-P02: never found over the limit of 500 mL');
  });

  it('gives the same as JSON, and knows only what was recorded by the instant', () => {
    const json = (at: string) =>
      JSON.parse(run(log, '--reconstruct', '--json', '--at', at).out) as {
        reconstructed: {
          patient: string;
          found: { volumeMl: number; overShare: number; courses: number }[];
        }[];
      };
    const later = json('2026-10-22T18:00:00+02:00').reconstructed.find((one) => one.patient === 'heron-P01');
    expect(later?.found[0]).toMatchObject({ volumeMl: 690, by: 'drained' });
    expect(later?.found[0]?.courses).toBeGreaterThanOrEqual(8192);
    const before = json('2026-10-22T15:00:00+02:00').reconstructed.find((one) => one.patient === 'heron-P01');
    expect(before?.found).toEqual([]);
  });

  it('exits 2 beside what it does not go with', () => {
    expect(run(log, '--reconstruct', '--rate', '100-200')).toMatchObject({ code: 2 });
  });
});

const beginsMs = Date.UTC(2026, 4, 12, 6);
const staff = (): Staff => ({
  nextLookMs: ({ lastLookMs, opensAtMs }) => (lastLookMs ?? opensAtMs) + 4 * hourMs,
  drains: (reading, watch) => reading.volumeMl >= watch.limitMl,
});
const median = (values: readonly number[]): number =>
  values.toSorted((a, b) => a - b)[Math.floor(values.length / 2)] ?? Number.NaN;

/** Stretches of 8 h of a simulated ward, looked back on and as the estimate of the time had them. */
function score(generate: PatientGenerator, patients: number) {
  const hours = 20;
  const ward = simulateWard(generate, { seed: 77, ward: 'w', patients, hours, beginsMs, staff });
  const whole = orThrow(readWardLog(ward.lines.map((line) => JSON.stringify(line)).join('\n')));
  let [asked, held, heldThen, width, widthThen] = [0, 0, 0, 0, 0];
  const off: number[] = [];
  const offThen: number[] = [];
  for (const { patient, opensAtMs, contentMl, limitMl } of ward.patients) {
    const nowMs = opensAtMs + (hours + 12) * hourMs;
    const { observations, prior, clockAheadMs } = knownThen(whole, nowMs, patient);
    const truth = (atMs: number): number =>
      contentMl[Math.round((atMs - opensAtMs) / (5 * minuteMs))] ?? Number.NaN;
    for (const begins of [2, 10]) {
      const [fromMs, toMs] = [opensAtMs + begins * hourMs, opensAtMs + (begins + 8) * hourMs];
      const question = { observations, prior, limitMl, nowMs, fromMs, toMs, clockAheadMs };
      const atMs = Array.from({ length: 8 }, (_, hour) => fromMs + hour * hourMs + 15 * minuteMs);
      const back = orThrow(reconstruct({ ...question, atMs }));
      const then = orThrow(estimateTrack({ ...question, horizonMin: 1, everyMin: 15 }));
      let [above, aboveThen] = [0, 0];
      for (let ms = fromMs; ms < toMs; ms += 5 * minuteMs) above += Math.max(0, truth(ms) - limitMl) / 12;
      for (const point of then) aboveThen += Math.max(0, point.content.p50Ml - limitMl) / 4;
      if (above > 5) {
        off.push(Math.abs(back.mlHoursOver.likely - above));
        offThen.push(Math.abs(aboveThen - above));
      }
      for (const point of back.track) {
        const beside = then.find((one) => one.atMs === point.atMs)?.content;
        if (beside === undefined) throw new Error('a point is missing');
        const was = truth(point.atMs);
        asked += 1;
        if (was >= point.p05Ml - 0.5 && was <= point.p95Ml + 0.5) held += 1;
        if (was >= beside.p05Ml - 0.5 && was <= beside.p95Ml + 0.5) heldThen += 1;
        width += point.p95Ml - point.p05Ml;
        widthThen += beside.p95Ml - beside.p05Ml;
      }
    }
  }
  return { asked, held, heldThen, width, widthThen, off, offThen };
}

describe.each([
  ['the first generator', watchedPatient],
  ['the other physics', otherPatient],
] as const)('looking back on simulated wards, %s', (_, generate) => {
  const { asked, held, heldThen, width, widthThen, off, offThen } = score(generate, 24);

  it('is surer than the estimate of the time was, and misses no more often', () => {
    expect(asked).toBe(24 * 16);
    expect(width).toBeLessThan(0.85 * widthThen);
    expect(held).toBeGreaterThanOrEqual(heldThen);
  });

  it('is nearer in mL·h above the limit', () => {
    expect(off.length).toBeGreaterThan(15);
    expect(median(off)).toBeLessThan(median(offThen));
  });
});

describe.skipIf(!samples || !existsSync(`${samples}/wards/public`))(
  'looking back on the public simulated wards (EBBLINE_SAMPLES names them)',
  () => {
    it(
      'holds the truth in 86 to 94 of 100 intervals, nearer than the estimate of the time',
      { timeout: 120_000 },
      () => {
        let [asked, held, off, offThen] = [0, 0, 0, 0];
        let row = 0;
        for (const name of ['pub-1', 'pub-2', 'pub-3']) {
          const folder = `${samples}/wards/public/${name}`;
          const whole = orThrow(readWardLog(readFileSync(`${folder}/log.ndjson`, 'utf8')));
          for (const line of readFileSync(`${folder}/truth/queries.csv`, 'utf8')
            .trim()
            .split('\n')
            .slice(1)) {
            const [, patient = '', at = '', , , catheterIn, contentMl] = line.split(',');
            if (catheterIn === '1') continue;
            row += 1;
            // Every fourth, for time: all 1065 hold 89 in 100.
            if (row % 4 !== 0) continue;
            const atMs = Math.floor(orThrow(readInstant(at)) / minuteMs) * minuteMs;
            const nowMs = atMs + 48 * hourMs;
            const { observations, prior, clockAheadMs } = knownThen(whole, nowMs, patient);
            const question = { observations, prior, limitMl: 600, nowMs, clockAheadMs };
            const back = orThrow(
              reconstruct({ ...question, fromMs: atMs - hourMs, toMs: atMs + minuteMs, atMs: [atMs] }),
            ).track[0];
            const then = orThrow(
              estimateTrack({ ...question, horizonMin: 1, fromMs: atMs, toMs: atMs, everyMin: 1 }),
            )[0]?.content;
            const truth = Number(contentMl);
            asked += 1;
            if (truth >= (back?.p05Ml ?? 0) - 0.5 && truth <= (back?.p95Ml ?? 0) + 0.5) held += 1;
            off += Math.abs(truth - (back?.p50Ml ?? 0));
            offThen += Math.abs(truth - (then?.p50Ml ?? 0));
          }
        }
        expect(asked).toBe(266);
        expect(held / asked).toBeGreaterThan(0.86);
        expect(held / asked).toBeLessThan(0.94);
        expect(off).toBeLessThan(0.7 * offThen);
      },
    );
  },
);

describe('a patient of a log', () => {
  it('without a watch has no limit to be over', () => {
    const whole = orThrow(readWardLog(readFileSync(log, 'utf8')));
    expect(reconstructedOf(whole, 'nobody', Date.parse('2026-10-22T18:00:00Z'))).toEqual({
      patient: 'nobody',
      found: [],
    });
  });
});
