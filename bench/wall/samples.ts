/**
 * What the wall model is fitted on: for each ray of a first trace, the features at 49 radii and the radius of the true
 * wall. Written as one binary file with a JSON file that says its shape; `fit.py` reads both.
 *
 *   node bench/wall/samples.ts OUT sets | hazed | phantoms [FROM TO]
 *
 * Row       49 × features, then case, plane, ray, state of the true wall or −1, state of the first trace, state of the exit
 * Sets      the sample sets of known outline (EBBLINE_SAMPLES), read through interop/planeset
 */
import {
  closeSync,
  existsSync,
  openSync,
  readdirSync,
  readFileSync,
  writeFileSync,
  writeSync,
} from 'node:fs';
import { join } from 'node:path';
import { planeWeights } from '@ebbline/core/geometry';
import { isRefusal, orThrow } from '@ebbline/core/quantity';
import type { PlaneSet } from '@ebbline/imaging';
import { readPlaneSet } from '@ebbline/interop/planeset';
import { chooseRegion } from '../../packages/imaging/src/choose-region.ts';
import { darknessMap } from '../../packages/imaging/src/darkness.ts';
import { deepestCell } from '../../packages/imaging/src/deepest-cell.ts';
import { fluidRegions } from '../../packages/imaging/src/fluid-regions.ts';
import { darknessThroughHaze } from '../../packages/imaging/src/haze.ts';
import { polarGrid } from '../../packages/imaging/src/polar-grid.ts';
import { mostRadii, radiusStepMm, rayCount, readRayField } from '../../packages/imaging/src/ray-field.ts';
import { bestClosedPath, darknessGain, pathRoom } from '../../packages/imaging/src/ray-path.ts';
import {
  featureCount,
  middleState,
  stateCount,
  wallFeatures,
  wallView,
} from '../../packages/imaging/src/wall-model.ts';
import { phantomMix } from '../../packages/simulate/src/phantoms/index.ts';
import { hazed } from './haze.ts';

/** By plane: closed lines of [s, d] in mm. */
export type Outlines = readonly (readonly (readonly (readonly [number, number])[])[])[];

/** Where a ray from inside first meets the true outline, mm; undefined when it doesn't. */
function firstCrossing(
  lines: Outlines[number],
  [s, d]: readonly [number, number],
  [across, down]: readonly [number, number],
): number | undefined {
  let nearest: number | undefined;
  for (const line of lines) {
    for (let index = 0; index < line.length; index += 1) {
      const [aS, aD] = line[index] as readonly [number, number];
      const [bS, bD] = line[(index + 1) % line.length] as readonly [number, number];
      const cross = across * (bD - aD) - down * (bS - aS);
      if (Math.abs(cross) < 1e-12) continue;
      const along = ((aS - s) * (bD - aD) - (aD - d) * (bS - aS)) / cross;
      const share = ((aS - s) * down - (aD - d) * across) / cross;
      if (share >= 0 && share < 1 && along > 0 && along < (nearest ?? Infinity)) nearest = along;
    }
  }
  return nearest;
}

/** Appends the rays of one set; every `every`-th of them. */
function writeRays(
  file: number,
  row: Float32Array,
  caseNumber: number,
  set: PlaneSet,
  outlines: Outlines,
  every: number,
): number {
  const { geometry } = set;
  const grid = polarGrid(set);
  const map = darknessMap(grid);
  const weights =
    geometry.layout === 'two_orthogonal_planes'
      ? Float64Array.of(1, 1)
      : planeWeights(
          geometry.layout,
          geometry.planes.map((plane) => plane.position),
        );
  if (isRefusal(weights)) return 0;
  const regions = fluidRegions(grid, map, geometry, weights);
  const main = chooseRegion(grid, geometry.layout, regions, undefined);
  if (!main) return 0;
  const darkness = darknessThroughHaze(grid, map, regions.labels, main.label);
  const room = pathRoom();
  let written = 0;
  let met = 0;
  for (let plane = 0; plane < grid.planes; plane += 1) {
    const seed = deepestCell(grid, regions.labels, plane, main.label);
    const lines = outlines[plane] ?? [];
    if (!seed || lines.length === 0) continue;
    const field = readRayField(grid, map, darkness, plane, seed.s, seed.d);
    const radii = new Int32Array(rayCount);
    darknessGain(room, field);
    bestClosedPath(room, radii);
    const view = wallView(field);
    for (let ray = 0; ray < rayCount; ray += 1) {
      const wallMm = firstCrossing(
        lines,
        [seed.s, seed.d],
        [field.cosine[ray] as number, field.sine[ray] as number],
      );
      met += 1;
      if (wallMm === undefined || met % every !== 0) continue;
      const exit = field.exit[ray] as number;
      const start = Math.max(0, (radii[ray] as number) - middleState);
      // Past the edge of the picture the wall is only known to be past it.
      const wall = Math.min(exit, wallMm / radiusStepMm - 0.5);
      const inWindow = wall >= start && wall <= start + stateCount - 1 && wall < mostRadii;
      for (let state = 0; state < stateCount; state += 1)
        wallFeatures(field, view, ray, Math.min(mostRadii - 1, start + state), row, state * featureCount);
      row.set(
        [caseNumber, plane, ray, inWindow ? wall - start : -1, (radii[ray] as number) - start, exit - start],
        stateCount * featureCount,
      );
      writeSync(file, new Uint8Array(row.buffer));
      written += 1;
    }
  }
  return written;
}

interface Known {
  readonly name: string;
  readonly set: PlaneSet;
  readonly outlines: Outlines;
}

async function* sampleSets(): AsyncGenerator<Known> {
  const root = join(process.env['EBBLINE_SAMPLES'] ?? '../shared/data', 'ultrasound');
  for (const folder of ['public', 'practice'])
    for (const name of readdirSync(join(root, folder)).sort()) {
      const path = join(root, folder, name);
      if (!existsSync(join(path, 'truth.json'))) continue;
      const truth = JSON.parse(readFileSync(join(path, 'truth.json'), 'utf8')) as {
        planes: { contours_mm: [number, number][][] }[];
      };
      const set = orThrow(
        await readPlaneSet((file) =>
          existsSync(join(path, file)) ? new Uint8Array(readFileSync(join(path, file))) : undefined,
        ),
      );
      yield { name, set, outlines: truth.planes.map((plane) => plane.contours_mm) };
    }
}

const [out = '', kind = '', from = '20000', to = '20170'] = process.argv.slice(2);
if (out === '' || !['sets', 'hazed', 'phantoms'].includes(kind)) {
  process.stderr.write('usage: node bench/wall/samples.ts OUT sets | hazed | phantoms [FROM TO]\n');
  process.exit(2);
}
const file = openSync(`${out}.bin`, 'w');
const row = new Float32Array(stateCount * featureCount + 6);
const cases: { name: string; rays: number }[] = [];
if (kind === 'phantoms') {
  for (let index = Number(from); index < Number(to); index += 1) {
    const { set, truth } = phantomMix(index);
    if (truth.bladderPresent)
      cases.push({
        name: `phantom ${index}`,
        rays: writeRays(file, row, cases.length, set, truth.outlines, 3),
      });
  }
} else {
  for await (const { name, set, outlines } of sampleSets()) {
    let rays = 0;
    if (kind === 'sets') rays = writeRays(file, row, cases.length, set, outlines, 1);
    else
      for (let copy = 0; copy < 3; copy += 1)
        rays += writeRays(
          file,
          row,
          cases.length,
          hazed(set, outlines, cases.length * 7919 + copy * 101 + 5),
          outlines,
          2,
        );
    cases.push({ name, rays });
  }
}
closeSync(file);
writeFileSync(`${out}.json`, JSON.stringify({ states: stateCount, features: featureCount, cases }));
