// Proves     of slips put into made-up wards, how many are asked about before they are saved, and how many honest volumes:
//            by kind, on both generators, with the shipped starting figures and with figures learnt from finished watches
//            of another seed. Bars set for it: honest at most 2 in 100; slips that lie outside what everything else leads to
//            (tail under 0.01, or a time that the clock's own test sees) at least 95; all slips at least 60. With learnt
//            figures the first two are reached. The third is not: swapped digits, voids left out, clocks that are behind and
//            neighbours' volumes mostly leave what might well have been
// Published  none
// Tolerance  bounds beside the shares measured on 40 wards of each generator from seed 5000 on: honest 1.8 and 3.9 in 100,
//            outside 94 and 91, all 54 and 52; with learnt figures 0.4 and 1.3, 96 and 97, 52 and 47
import { describe, expect, it } from 'vitest';
import { hourMs, orThrow } from '@ebbline/core/quantity';
import { questionLog, readWardLog } from '@ebbline/interop/wardlog';
import {
  fittedFigures,
  otherPatient,
  simulateWard,
  watchedPatient,
  withSlips,
  type PatientGenerator,
  type Staff,
} from '@ebbline/simulate';
import type { UnitFactors } from '@ebbline/core/filling';

const long = process.env['EBBLINE_LONG'] === '1';
const wards = long ? 40 : 5;
const firstSeed = 5000;

const staff = (): Staff => ({
  nextLookMs: ({ lastLookMs, opensAtMs }) => (lastLookMs === undefined ? opensAtMs : lastLookMs + 3 * hourMs),
  drains: (reading, watch) => reading.volumeMl >= watch.limitMl,
});

class Share {
  asked = 0;
  of = 0;
  add(asked: boolean): void {
    this.of += 1;
    if (asked) this.asked += 1;
  }
  get share(): number {
    return this.of === 0 ? 0 : this.asked / this.of;
  }
}
interface Row {
  readonly all: Share;
  readonly outside: Share;
}

/** What is asked on wards of one generator, by what was done to the line. */
function measure(generate: PatientGenerator, figures?: UnitFactors): ReadonlyMap<string, Row> {
  const rows = new Map<string, Row>();
  const row = (name: string): Row => {
    const found = rows.get(name) ?? { all: new Share(), outside: new Share() };
    rows.set(name, found);
    return found;
  };
  for (let seed = firstSeed; seed < firstSeed + wards; seed += 1) {
    const ward = simulateWard(generate, {
      seed,
      ward: 'w1',
      patients: 24,
      hours: 24,
      beginsMs: Date.UTC(2026, 4, 12, 6),
      staff,
    });
    const badLooks = new Set(
      ward.patients.flatMap(({ patient, readings }) =>
        readings.flatMap(({ gross }, index) =>
          gross === undefined ? [] : ['K', 'L'].map((of) => `${patient}-${of}${index + 1}`),
        ),
      ),
    );
    const { lines, slips } = withSlips(ward, seed);
    const made = new Map(slips.map((one) => [one.lineId, one]));
    const log = orThrow(readWardLog(lines.map((line) => JSON.stringify(line)).join('\n')));
    for (const { line, questioned, score, tail } of questionLog(log, figures)) {
      const one = made.get(line.id);
      const bad = line.kind === 'reading' && badLooks.has(line.look);
      const names =
        one === undefined
          ? [bad ? 'bad look' : 'honest']
          : [
              one.outMin === undefined ? one.slip : `${one.slip} ${one.outMin > 0 ? 'ahead' : 'behind'}`,
              'all slips',
            ];
      const outside = tail < 0.01 || (one?.outMin !== undefined && score === 1);
      for (const name of names) {
        row(name).all.add(questioned);
        if (outside) row(name).outside.add(questioned);
      }
    }
  }
  return rows;
}

const said = (title: string, rows: ReadonlyMap<string, Row>): string =>
  [
    `${title}, ${wards} wards of 24 for 24 h: asked of all, of those outside`,
    ...[...rows]
      .toSorted(([a], [b]) => a.localeCompare(b))
      .map(
        ([name, { all, outside }]) =>
          `  ${name.padEnd(20)} ${(100 * all.share).toFixed(1).padStart(5)} % of ${all.of}   ${(100 * outside.share).toFixed(1).padStart(5)} % of ${outside.of}`,
      ),
  ].join('\n');

describe('slips put into made-up wards', () => {
  for (const [title, generate, figures, bounds] of [
    ['the ward', watchedPatient, undefined, { honest: 0.03, outside: 0.85, all: 0.45 }],
    ['the ward, learnt', watchedPatient, fittedFigures.own, { honest: 0.02, outside: 0.9, all: 0.45 }],
    ['the other physics', otherPatient, undefined, { honest: 0.055, outside: 0.85, all: 0.45 }],
    [
      'the other physics, learnt',
      otherPatient,
      fittedFigures.other,
      { honest: 0.02, outside: 0.9, all: 0.4 },
    ],
  ] as const)
    it(`are asked about, honest volumes seldom: ${title}`, { timeout: 900_000 }, () => {
      const rows = measure(generate, figures);
      console.log(said(title, rows));
      const of = (name: string): Row => rows.get(name) as Row;
      expect(of('honest').all.share).toBeLessThan(bounds.honest);
      expect(of('all slips').outside.share).toBeGreaterThan(bounds.outside);
      expect(of('all slips').all.share).toBeGreaterThan(bounds.all);
      expect(of('charted-again').all.share).toBeGreaterThan(0.9);
      expect(of('nought-too-many').all.share).toBeGreaterThan(0.6);
      expect(of('wrong-clock ahead').all.share).toBeGreaterThan(0.7);
    });
});
