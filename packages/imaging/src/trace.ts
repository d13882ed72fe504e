/**
 * Traces the bladder in a set of planes: where is fluid, which region, its wall on every plane, then volume, interval
 * and reasons.
 *
 * 1 each plane on its polar grid, fluid and tissue levels from the set itself   2 dark regions through all planes, the
 * main one gives a seed on each plane   3 the best closed path on rays from the seed   4 one closed surface through the
 * clear points of all planes   5 the path again, drawn to that surface where the wall is faint or hidden
 * 6 volume by the integral of the layout
 *
 * Units     mm, mL
 * Not for   an order: the person sees the outlines and may move them (`volumeFromOutlines`)
 * Errors    imaging/planes-missing, imaging/picture-size, imaging/two-candidates, imaging/no-fluid-there; in the answer, never thrown
 */
import { planeWeights } from '@ebbline/core/geometry';
import { controlIsOn, isRefusal, refuse, type Refusal } from '@ebbline/core/quantity';
import { chooseRegion, regionInFront } from './choose-region.ts';
import { darknessMap, type DarknessMap } from './darkness.ts';
import { darknessThroughHaze } from './haze.ts';
import { fluidRegions, type FluidRegion, type FluidRegions } from './fluid-regions.ts';
import type { OutlineVertex, PlaneOutline, VertexClass } from './outline.ts';
import { volumeFromOutlines, type Findings, type VolumeResult } from './outline-volume.ts';
import type { PlaneSet, PlaneSetGeometry } from './plane-set.ts';
import { polarGrid, type PolarGrid } from './polar-grid.ts';
import {
  bestClosedPath,
  mostRadii,
  radiusStepMm,
  rayCount,
  rayRoom,
  readRays,
  type RayRoom,
} from './ray-path.ts';
import { reason } from './reasons.ts';
import { fitSurface, radialDistanceMm, type Surface } from './surface.ts';

export interface TraceOptions {
  /** A person's click inside the bladder; overrides the choice of region. */
  readonly seed?: { readonly plane: number; readonly sMm: number; readonly dMm: number };
  readonly onProgress?: (share: number) => void;
}

const sdByClass: Readonly<Record<VertexClass, number>> = {
  seen: 1,
  weak: 2.2,
  inferred: 4,
  cut: 5,
  shadow: 5,
};

export function traceBladder(set: PlaneSet, options: TraceOptions = {}): VolumeResult {
  const { geometry } = set;
  const refusal = setRefusal(set);
  if (refusal) return { answer: 'refused', reasons: [], planes: [], findings: {}, refusal };
  const weights = regionWeights(geometry);
  if (isRefusal(weights))
    return { answer: 'refused', reasons: [], planes: [], findings: {}, refusal: weights };
  const grid = polarGrid(set);
  options.onProgress?.(0.3);
  const map = darknessMap(grid);
  const first = traceOnce(grid, map, geometry, fluidRegions(grid, map, geometry, weights), options);
  options.onProgress?.(0.8);
  const doubtful = (first.planesDisagreeMm ?? 0) > Math.max(2.5, 0.08 * radiusOf(first.volumeMl));
  if (!doubtful) return first;
  // Two bodies with a thin wall between may have run into one: try again with regions parted more strictly.
  const second = traceOnce(grid, map, geometry, fluidRegions(grid, map, geometry, weights, true), options);
  const better =
    second.volumeMl !== undefined &&
    (second.planesDisagreeMm ?? Infinity) < 0.6 * (first.planesDisagreeMm ?? 0);
  return better ? second : first;
}

const radiusOf = (volumeMl: number | undefined): number =>
  10 * Math.cbrt((3 * (volumeMl ?? 0)) / (4 * Math.PI));

function traceOnce(
  grid: PolarGrid,
  map: DarknessMap,
  geometry: PlaneSetGeometry,
  regions: FluidRegions,
  options: TraceOptions,
): VolumeResult {
  const main = chooseRegion(grid, geometry.layout, regions, options.seed);
  if (!main && options.seed) {
    const refusal = refuse('imaging/no-fluid-there', {
      asked: 'Volume from images',
      found: 'no fluid where you pointed',
      allowed: 'a point inside a dark region',
      todo: 'Point into the dark of the bladder, or outline it by hand.',
    });
    return { answer: 'refused', reasons: [], planes: [], findings: {}, refusal };
  }
  if (!main) {
    const nothing = volumeFromOutlines(geometry, []);
    return {
      ...nothing,
      reasons: [...nothing.reasons, ...(map.contrast < 25 ? [reason('low-contrast')] : [])],
    };
  }
  const rival = options.seed === undefined ? regionInFront(grid, geometry.layout, regions, main) : undefined;
  if (rival && controlIsOn('two-candidates-refused')) {
    const refusal = refuse('imaging/two-candidates', {
      asked: 'Volume from images',
      found: 'two fluid regions, the smaller one in front of the larger',
      allowed: 'one region that is clearly the bladder',
      todo: 'Point at the bladder, or look again: the larger region may be a cyst or free fluid.',
    });
    return {
      answer: 'refused',
      reasons: [reason('more-than-one-region')],
      planes: [],
      findings: {},
      refusal,
    };
  }
  const traced = tracePlanes(grid, map, geometry, regions, main);
  const otherFluidMl = regions.regions.reduce(
    (sum, one) =>
      one.label === main.label || one.greyShare > 0.22 || one.planes < 3 ? sum : sum + one.roughMl,
    0,
  );
  const findings: Findings = {
    ...traced.findings,
    otherFluidMl,
    ...(map.contrast < 25 ? { lowContrast: true } : {}),
  };
  return volumeFromOutlines(geometry, traced.outlines, findings);
}

function setRefusal(set: PlaneSet): Refusal | undefined {
  if (set.planes.length === 0 || set.planes.length !== set.geometry.planes.length) {
    return refuse('imaging/planes-missing', {
      asked: 'Volume from images',
      found: `${set.planes.length} pictures for ${set.geometry.planes.length} planes`,
      allowed: 'one picture for each plane',
      todo: 'Give all pictures of the set.',
    });
  }
  for (const [index, plane] of set.planes.entries()) {
    if (plane.width < 16 || plane.height < 16 || plane.grey.length !== plane.width * plane.height) {
      return refuse('imaging/picture-size', {
        asked: 'Volume from images',
        found: `a picture of ${plane.width} × ${plane.height} with ${plane.grey.length} bytes`,
        allowed: 'at least 16 × 16 pixels, one byte each',
        todo: 'Export the picture again.',
        where: `plane ${index + 1}`,
      });
    }
  }
  return undefined;
}

function regionWeights(geometry: PlaneSetGeometry): Float64Array | Refusal {
  if (geometry.layout === 'two_orthogonal_planes') return Float64Array.of(Math.PI / 2, Math.PI / 2);
  return planeWeights(
    geometry.layout,
    geometry.planes.map((plane) => plane.position),
  );
}

interface Traced {
  readonly outlines: PlaneOutline[];
  readonly findings: Findings;
}

function tracePlanes(
  grid: PolarGrid,
  map: DarknessMap,
  geometry: PlaneSetGeometry,
  regions: FluidRegions,
  main: FluidRegion,
): Traced {
  const room = rayRoom();
  const darkness = darknessThroughHaze(grid, map, regions.labels, main.label);
  const seeds: { plane: number; s: number; d: number; radii: Int32Array }[] = [];
  for (let plane = 0; plane < grid.planes; plane += 1) {
    const seed = deepestCell(grid, regions.labels, plane, main.label);
    if (!seed) continue;
    const radii = new Int32Array(rayCount);
    readRays(room, grid, darkness, map.hiddenFrom, plane, seed.s, seed.d);
    bestClosedPath(room, radii);
    seeds.push({ plane, ...seed, radii });
  }
  const classes = seeds.map(() => Array.from({ length: rayCount }, (): VertexClass => 'inferred'));
  const expected = new Float32Array(rayCount);
  const trust = new Float32Array(rayCount);
  let surface: Surface | undefined;
  for (let round = 0; round < 2; round += 1) {
    for (const [index, seed] of seeds.entries()) {
      readRays(room, grid, darkness, map.hiddenFrom, seed.plane, seed.s, seed.d);
      if (round > 0) {
        expectFrom(surface, geometry, seed, room, expected);
        const kinds = classes[index] as VertexClass[];
        for (let ray = 0; ray < rayCount; ray += 1) {
          const kind = kinds[ray] as VertexClass;
          trust[ray] = kind === 'seen' ? 0.01 : kind === 'weak' ? 0.05 : 0.25;
        }
        bestClosedPath(room, seed.radii, expected, trust);
      }
      classify(room, seed.radii, classes[index] as VertexClass[]);
    }
    surface = surfaceThrough(geometry, seeds, classes, room, main) ?? surface;
  }
  let dark = 0;
  let cells = 0;
  const outlines = seeds.map((seed, index): PlaneOutline => {
    const kinds = classes[index] as VertexClass[];
    readRays(room, grid, darkness, map.hiddenFrom, seed.plane, seed.s, seed.d);
    expectFrom(surface, geometry, seed, room, expected);
    const vertices: OutlineVertex[] = [];
    for (let ray = 0; ray < rayCount; ray += 1) {
      const kind = kinds[ray] as VertexClass;
      const at = seed.radii[ray] as number;
      let radius = (at + 0.5) * radiusStepMm;
      const want = ((expected[ray] as number) + 0.5) * radiusStepMm;
      if (kind === 'cut' && want > radius) radius = Math.min(want, radius + 40);
      for (let inner = 0; inner < at; inner += 2) {
        cells += inner;
        if ((room.darkAlong[ray * mostRadii + inner] as number) > -0.3) dark += inner;
      }
      if (kind !== 'cut' || want > (at + 0.5) * radiusStepMm)
        radius = Math.max(0.5, radius + wallBlurMm(room.sine[ray] as number));
      vertices.push({
        sMm: seed.s + radius * (room.cosine[ray] as number),
        dMm: seed.d + radius * (room.sine[ray] as number),
        sdMm: sdByClass[kind],
        seenAs: kind,
      });
    }
    return { plane: seed.plane, vertices };
  });
  return {
    outlines,
    findings: cells > 0 ? { darkShare: dark / cells } : {},
  };
}

/**
 * How far the echo of the wall reaches over the lumen, mm: the pulse and the beam are a few mm wide, so a far wall
 * seems nearer and a side wall further in than it is, and the near wall's echo ends late.
 *
 * Source    S-clinical-A17 (walls fill in); figures measured on simulated walls at 3.5 MHz (S-imaging-tuning)
 */
function wallBlurMm(sine: number): number {
  return sine >= 0 ? 1.2 + 0.8 * sine : 1.2 + 1.8 * sine;
}

/** The cell of a region on a plane with the widest clearance to what does not belong to it. */
function deepestCell(
  grid: PolarGrid,
  labels: Int32Array,
  plane: number,
  label: number,
): { s: number; d: number } | undefined {
  const { beams, samples, stepMm, rMinMm, halfAngle, stepAngle } = grid;
  const base = plane * beams * samples;
  let best: { s: number; d: number } | undefined;
  let bestClear = 0;
  const along = Math.max(1, Math.round(2 / stepMm));
  for (let beam = 0; beam < beams; beam += 2) {
    const angle = -halfAngle + (beam + 0.5) * stepAngle;
    for (let sample = 0; sample < samples; sample += along) {
      if (labels[base + beam * samples + sample] !== label) continue;
      const r = rMinMm + (sample + 0.5) * stepMm;
      let clear = Infinity;
      for (let way = 0; way < 12 && clear > bestClear; way += 1) {
        const up = Math.sin((way * Math.PI) / 6);
        const aside = Math.cos((way * Math.PI) / 6);
        let reach = 0;
        while (reach < clear) {
          const nextReach = reach + 1;
          const b = Math.round(beam + (aside * nextReach) / (r * stepAngle));
          const k = Math.round(sample + (up * nextReach) / stepMm);
          if (b < 0 || b >= beams || k < 0 || k >= samples || labels[base + b * samples + k] !== label) break;
          reach = nextReach;
        }
        clear = Math.min(clear, reach);
      }
      if (clear > bestClear) {
        bestClear = clear;
        best = { s: r * Math.sin(angle), d: r * Math.cos(angle) };
      }
    }
  }
  return best;
}

function classify(room: RayRoom, radii: Int32Array, kinds: VertexClass[]): void {
  const band = Math.round(2.5 / radiusStepMm);
  const slack = Math.round(2 / radiusStepMm);
  for (let ray = 0; ray < rayCount; ray += 1) {
    const row = ray * mostRadii;
    const at = radii[ray] as number;
    const exit = room.exit[ray] as number;
    let inside = 0;
    let outside = 0;
    let hidden = false;
    for (let near = 0; near < band; near += 1) {
      const within = Math.max(0, at - near);
      const beyond = Math.min(exit - 1, at + 1 + near);
      inside += room.darkAlong[row + within] as number;
      outside += room.darkAlong[row + beyond] as number;
      if (near < slack && (room.hiddenAlong[row + within] === 1 || room.hiddenAlong[row + beyond] === 1))
        hidden = true;
    }
    const step = (inside - outside) / band;
    if (at >= exit - 1 - slack && inside / band > 0.2) kinds[ray] = 'cut';
    else if (hidden) kinds[ray] = 'shadow';
    else if (step > 0.8) kinds[ray] = 'seen';
    else if (step > 0.35) kinds[ray] = 'weak';
    else kinds[ray] = 'inferred';
  }
}

function surfaceThrough(
  geometry: PlaneSetGeometry,
  seeds: readonly { plane: number; s: number; d: number; radii: Int32Array }[],
  classes: readonly (readonly VertexClass[])[],
  room: RayRoom,
  main: FluidRegion,
): Surface | undefined {
  const pointsMm = new Float64Array(seeds.length * rayCount * 3);
  const sdMm = new Float64Array(seeds.length * rayCount);
  let count = 0;
  for (const [index, seed] of seeds.entries()) {
    const pose = geometry.planes[seed.plane];
    if (!pose) continue;
    for (let ray = 0; ray < rayCount; ray += 1) {
      const kind = classes[index]?.[ray] as VertexClass;
      if (kind !== 'seen' && kind !== 'weak') continue;
      const radius = ((seed.radii[ray] as number) + 0.5) * radiusStepMm;
      const s = seed.s + radius * (room.cosine[ray] as number);
      const d = seed.d + radius * (room.sine[ray] as number);
      for (let axis = 0; axis < 3; axis += 1) {
        pointsMm[3 * count + axis] =
          (pose.originMm[axis] as number) +
          s * (pose.lateral[axis] as number) +
          d * (pose.axial[axis] as number);
      }
      sdMm[count] = sdByClass[kind];
      count += 1;
    }
  }
  return fitSurface(
    { pointsMm, sdMm, count },
    main.centreMm,
    geometry.layout === 'two_orthogonal_planes' ? 4 : 6,
  );
}

/** Radius index at which each ray leaves the surface; NaN when the seed lies outside it. */
function expectFrom(
  surface: Surface | undefined,
  geometry: PlaneSetGeometry,
  seed: { plane: number; s: number; d: number },
  room: RayRoom,
  expected: Float32Array,
): void {
  expected.fill(Number.NaN);
  const pose = geometry.planes[seed.plane];
  if (!surface || !pose) return;
  const at = (axis: 0 | 1 | 2, s: number, d: number): number =>
    pose.originMm[axis] + s * pose.lateral[axis] + d * pose.axial[axis];
  const inside = (s: number, d: number): boolean =>
    radialDistanceMm(surface, at(0, s, d), at(1, s, d), at(2, s, d)) < 0;
  if (!inside(seed.s, seed.d)) return;
  for (let ray = 0; ray < rayCount; ray += 1) {
    const cosine = room.cosine[ray] as number;
    const sine = room.sine[ray] as number;
    let low = 0;
    let high = mostRadii * radiusStepMm;
    for (let step = 0; step < 10; step += 1) {
      const middle = (low + high) / 2;
      if (inside(seed.s + middle * cosine, seed.d + middle * sine)) low = middle;
      else high = middle;
    }
    expected[ray] = low / radiusStepMm - 0.5;
  }
}
