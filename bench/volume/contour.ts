/**
 * Contour and moment of a ready field of 480 × 400: ours beside scikit-image's `find_contours` and d3-contour, turn by
 * turn, by the processor time of each one's own process. All have to agree to 1e-9 first, points and sums.
 */
import { mkdtempSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { contours as peerContours } from 'd3-contour';
import { orThrow, seededRandom } from '../../packages/core/src/quantity/index.ts';
import { levelContours, levelMoments } from '../../packages/imaging/src/index.ts';
import type { Peer } from './peer.ts';
import { cpuMs, middle, say, spread, tableText } from './table.ts';

const width = 480;
const height = 400;
const level = 0;
const about = 231.5;
const rounds = 11;
const alike = 1e-9;

type Points = readonly (readonly [number, number])[];

/** A lobed body about the probe axis; with `grain` also islets and holes, as a likelihood has them. */
function readyField(grain: number): Float64Array {
  const random = seededRandom(5);
  const field = new Float64Array(width * height);
  for (let y = 0; y < height; y += 1) {
    for (let x = 0; x < width; x += 1) {
      const angle = Math.atan2(y - 205, x - 236);
      const body = 112 + 14 * Math.sin(3 * angle + 0.4) - Math.hypot(x - 236, 1.15 * (y - 205));
      field[y * width + x] = body + grain * (random.next() - 0.5);
    }
  }
  return field;
}

const d3 = peerContours().size([width, height]);
/** Its pixel centres stand at + 0.5; a hole turns the other way round than a border. */
function d3Sums(field: Float64Array): { rings: readonly Points[]; area: number; moment: number } {
  const rings: Points[] = [];
  let area = 0;
  let moment = 0;
  for (const polygon of d3.contour(field, level).coordinates) {
    for (const ring of polygon) {
      rings.push(ring);
      for (let at = 1; at < ring.length; at += 1) {
        const [before, here] = [ring[at - 1]!, ring[at]!];
        const x0 = before[0] - 0.5 - about;
        const x1 = here[0] - 0.5 - about;
        const rise = here[1] - before[1];
        area += ((x0 + x1) / 2) * rise;
        if (x0 * x1 < 0) moment += ((Math.abs(x0) ** 3 - Math.abs(x1) ** 3) / (x0 - x1) / 6) * rise;
        else moment += ((x0 + x1 < 0 ? -1 : 1) * (x0 * x0 + x0 * x1 + x1 * x1) * rise) / 6;
      }
    }
  }
  return { rings, area: Math.abs(area), moment: Math.abs(moment) };
}

const sorted = (rings: readonly Points[]): Points =>
  rings.flat().toSorted((a, b) => Math.round((a[0] - b[0]) * 1e7) || a[1] - b[1]);
/** The farthest that two lists of points are from each other, px; infinite when they differ in number. */
function apart(one: Points, other: Points): number {
  if (one.length !== other.length) return Infinity;
  return Math.max(
    0,
    ...one.map(([x, y], index) => Math.hypot(x - (other[index]?.[0] ?? NaN), y - (other[index]?.[1] ?? NaN))),
  );
}
const off = (found: number, known: number): number => Math.abs(found / known - 1);

function timed(times: number, work: () => void): number {
  const from = cpuMs();
  for (let index = 0; index < times; index += 1) work();
  return (cpuMs() - from) / times;
}

/** Prints the ratios; false when results differ or an aim is missed. */
export async function contourBench(peer: Peer | undefined, aim: number): Promise<boolean> {
  const folder = mkdtempSync(join(tmpdir(), 'ebbline-bench-'));
  const rows: string[][] = [];
  let good = true;
  try {
    for (const [name, grain] of [
      ['one body', 0],
      ['body with grain', 6],
    ] as const) {
      const field = readyField(grain);
      const own = orThrow(levelMoments(field, width, height, level, about));
      const ownRings = orThrow(levelContours(field, width, height, level)).contours.map(({ points }) =>
        Array.from({ length: points.length / 2 }, (_, at) => [points[2 * at]!, points[2 * at + 1]!] as const),
      );
      const theirs = d3Sums(field);
      const worst = [
        apart(
          sorted(ownRings),
          sorted(theirs.rings.map((ring) => ring.slice(1).map(([x, y]) => [x - 0.5, y - 0.5] as const))),
        ),
        off(theirs.area, own.areaPx2),
        off(theirs.moment, own.absoluteMomentPx3),
      ];
      if (peer) {
        const path = join(folder, 'field');
        writeFileSync(path, new Uint8Array(field.buffer));
        const found = await peer.field({ path, width, height, level, about });
        worst.push(
          apart(sorted(ownRings), sorted(found.contours.map((ring) => ring.slice(1)))),
          off(Math.abs(found.area), own.areaPx2),
          off(Math.abs(found.moment), own.absoluteMomentPx3),
        );
      }
      if (!(Math.max(...worst) <= alike)) {
        say(`  ${name}: results differ by ${Math.max(...worst)}; no ratio is told`);
        good = false;
        continue;
      }
      const both = (): void => void levelContours(field, width, height, level, about);
      const figureAlone = (): void => void levelMoments(field, width, height, level, about);
      const ratios = { peerBoth: [], peerFigure: [], d3Both: [], d3Figure: [] } as Record<string, number[]>;
      const put = (key: string, peerMs: number, ownMs: number): void =>
        void ratios[key]?.push(peerMs / ownMs);
      for (let round = 0; round <= rounds; round += 1) {
        const bothMs = timed(100, both);
        const figureMs = timed(100, figureAlone);
        const d3Ms = timed(8, () => d3Sums(field));
        const peerMs = await peer?.contour({ level, about, times: 8 });
        // The first round warms all up.
        if (round === 0) continue;
        put('d3Both', d3Ms, bothMs);
        put('d3Figure', d3Ms, figureMs);
        if (peerMs === undefined) continue;
        put('peerBoth', peerMs, bothMs);
        put('peerFigure', peerMs, figureMs);
      }
      for (const [who, key] of [
        ...(peer ? [[`scikit-image ${peer.version}`, 'peer'] as const] : []),
        ['d3-contour', 'd3'] as const,
      ]) {
        const [way, figure] = [ratios[`${key}Both`] ?? [], ratios[`${key}Figure`] ?? []];
        const missed = middle(way) < aim;
        good &&= !missed;
        rows.push([
          `${name}, ${who}`,
          `${middle(way).toFixed(1)} times (${spread(way)})${missed ? ' MISSED' : ''}`,
          `${middle(figure).toFixed(1)} times (${spread(figure)})`,
          Math.max(...worst).toExponential(0),
        ]);
      }
    }
  } finally {
    rmSync(folder, { recursive: true, force: true });
  }
  say(
    tableText(
      [
        `beside, over ${rounds} rounds`,
        `contour and moment (aim ${aim})`,
        'moment alone',
        'differ by at most',
      ],
      rows,
    ),
  );
  return good;
}
