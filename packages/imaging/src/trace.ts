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
 * Errors    imaging/planes-missing, imaging/picture-size, imaging/two-candidates, imaging/perhaps-free-fluid, imaging/no-fluid-there; in the answer, never thrown
 */
import { planeWeights } from '@ebbline/core/geometry';
import { controlIsOn, isRefusal, refuse, type Refusal } from '@ebbline/core/quantity';
import { bodyThroughTraces, crossingOf, distanceFromBodyMm, pointOf, radiiOfBody } from './body-fit.ts';
import { chooseRegion, regionInFront } from './choose-region.ts';
import { darknessMap, type DarknessMap } from './darkness.ts';
import { deepestCell } from './deepest-cell.ts';
import { fluidRegions, type FluidRegion, type FluidRegions } from './fluid-regions.ts';
import { darknessThroughHaze } from './haze.ts';
import type { OutlineVertex, PlaneOutline, VertexClass } from './outline.ts';
import { volumeFromOutlines, type Findings, type VolumeResult } from './outline-volume.ts';
import type { PlaneSet, PlaneSetGeometry } from './plane-set.ts';
import { firstLook, lookAgain, raysInShadow, wallRunsOut, type PlaneTrace } from './plane-trace.ts';
import { polarGrid, type PolarGrid } from './polar-grid.ts';
import { mostRadii, radiusStepMm, rayCount, readRayField } from './ray-field.ts';
import { bestClosedPath, darknessGain, pathRoom } from './ray-path.ts';
import { reason } from './reasons.ts';
import { shadowBeams, type ShadowBeams } from './shadow-beams.ts';
import type { Surface } from './surface.ts';
import { learntWall } from './wall-model.ts';

export interface TraceOptions {
  /** A person's click inside the bladder; overrides the choice of region. */
  readonly seed?: { readonly plane: number; readonly sMm: number; readonly dMm: number };
  readonly onProgress?: (share: number) => void;
}

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
  const result = traceOnce(grid, map, geometry, fluidRegions(grid, map, geometry, weights), options);
  options.onProgress?.(1);
  return result;
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
  const result = volumeFromOutlines(geometry, traced.outlines, findings);
  if (options.seed || result.volumeMl === undefined || result.volumeMl < leastHeadwardMl) return result;
  const headward = headwardShare(geometry, traced.outlines, result.volumeMl);
  return headward > mostHeadwardShare && controlIsOn('headward-fluid-refused')
    ? headwardRefused(result)
    : result;
}

/**
 * A fan is turned about the probe just above the pubic bone, and the bladder lies behind that bone: as it fills it
 * rises, but its lower end stays. A body whose middle lies further headward than this share of its radius is more often
 * free fluid, a cyst, or a bowel loop.
 */
const mostHeadwardShare = 0.45;
const leastHeadwardMl = 20;

/** How far the outlines lie headward of the axis of a fan, as a share of the body's radius; 0 in other layouts. */
function headwardShare(
  geometry: PlaneSetGeometry,
  outlines: readonly PlaneOutline[],
  volumeMl: number,
): number {
  if (geometry.layout !== 'rotational_fan') return 0;
  let sum = 0;
  let length = 0;
  for (const { plane, vertices } of outlines) {
    for (const [index, vertex] of vertices.entries()) {
      const next = vertices[(index + 1) % vertices.length];
      if (!next) continue;
      const part = Math.hypot(next.sMm - vertex.sMm, next.dMm - vertex.dMm);
      sum += part * pointOf(geometry, plane, vertex.sMm, vertex.dMm)[1];
      length += part;
    }
  }
  return length > 0 ? sum / length / radiusOf(volumeMl) : 0;
}

const headwardRefused = (result: VolumeResult): VolumeResult => ({
  answer: 'refused',
  reasons: [reason('perhaps-free-fluid'), ...result.reasons],
  planes: result.planes,
  findings: result.findings,
  ...(result.planesDisagreeMm === undefined ? {} : { planesDisagreeMm: result.planesDisagreeMm }),
  refusal: refuse('imaging/perhaps-free-fluid', {
    asked: 'Volume from images',
    found: 'fluid that lies mostly towards the head of where the probe was centred',
    allowed: 'a bladder near the middle of the fan',
    todo: 'Look again, centred just above the pubic bone, or point at the bladder: free fluid and cysts look alike.',
  }),
});

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

const mostRounds = 3;
/** When the surface has moved no further than this, another round would change nothing that matters. */
const settledMm = 1.5;
const surfaceDegree = 6;
/** Two planes can't tell the finer terms of a surface. */
const twoPlanesDegree = 4;
/** Fewer planes with fluid of their own than this share of those the body crosses make no body. */
const leastSeenShare = 0.4;

function tracePlanes(
  grid: PolarGrid,
  map: DarknessMap,
  geometry: PlaneSetGeometry,
  regions: FluidRegions,
  main: FluidRegion,
): Traced {
  const darkness = darknessThroughHaze(grid, map, regions.labels, main.label);
  const model = learntWall();
  const room = pathRoom();
  const traces: PlaneTrace[] = [];
  for (let plane = 0; plane < grid.planes; plane += 1) {
    const seed = deepestCell(grid, regions.labels, plane, main.label);
    if (!seed) continue;
    const field = readRayField(grid, map, darkness, plane, seed.s, seed.d);
    const radii = new Int32Array(rayCount);
    darknessGain(room, field);
    bestClosedPath(room, radii);
    traces.push(firstLook(field, model, radii));
  }
  const degree = geometry.layout === 'two_orthogonal_planes' ? twoPlanesDegree : surfaceDegree;
  let planesDisagreeMm = 0;
  let surface: Surface | undefined;
  const meet = (): Surface | undefined =>
    bodyThroughTraces(geometry, traces, main.centreMm, degree) ?? surface;
  const expect = (): (Float64Array | undefined)[] =>
    traces.map((trace) => radiiOfBody(surface, geometry, trace.field));
  let shadows: readonly ShadowBeams[] = [];
  for (let round = 0; round < mostRounds; round += 1) {
    surface = meet();
    if (!surface) break;
    let expected = expect();
    if (round === 0) {
      shadows = shadowBeams(
        grid,
        map,
        traces.map((trace, index) => outlineOf(trace, expected[index])),
      );
      // What a plane shows in shadow is no wall: it must neither bend the surface nor count as a disagreement.
      if (shadows.length > 0) {
        for (const [index, trace] of traces.entries()) {
          const radiiMm = expected[index];
          const blind = radiiMm && raysInShadow(trace.field, radiiMm, shadows);
          if (blind) traces[index] = { ...trace, blind };
        }
        surface = meet() ?? surface;
      }
      planesDisagreeMm = distanceFromBodyMm(surface, geometry, traces);
      const seen = traces.length;
      addMissedPlanes(grid, map, darkness, geometry, surface, traces);
      if (shadows.length > 0 || traces.length > seen) expected = expect();
    }
    let movedMm = 0;
    for (const [index, trace] of traces.entries()) {
      const referenceMm = expected[index];
      if (!referenceMm) continue;
      for (let ray = 0; ray < rayCount; ray += 1)
        movedMm = Math.max(
          movedMm,
          Math.abs((referenceMm[ray] as number) - (trace.referenceMm[ray] as number)),
        );
      traces[index] = lookAgain(trace, model, referenceMm, raysInShadow(trace.field, referenceMm, shadows));
    }
    if (round > 0 && movedMm < settledMm) break;
  }
  surface = bodyThroughTraces(geometry, traces, main.centreMm, degree) ?? surface;
  const outlines = traces.map((trace) => outlineOf(trace, radiiOfBody(surface, geometry, trace.field)));
  return {
    outlines,
    findings: {
      darkShare: darkShareOf(traces),
      planesDisagreeMm,
      shadows: shadowBeams(grid, map, outlines),
    },
  };
}

/** Planes without fluid of their own that the body found on the others crosses, when those are few. */
function addMissedPlanes(
  grid: PolarGrid,
  map: DarknessMap,
  darkness: Float32Array,
  geometry: PlaneSetGeometry,
  surface: Surface,
  traces: PlaneTrace[],
): void {
  const known = new Set(traces.map((trace) => trace.field.plane));
  const missed: { plane: number; s: number; d: number }[] = [];
  for (let plane = 0; plane < grid.planes; plane += 1) {
    const at = known.has(plane) ? undefined : crossingOf(surface, geometry, plane);
    if (at) missed.push({ plane, ...at });
  }
  if (traces.length < leastSeenShare * (traces.length + missed.length)) return;
  const model = learntWall();
  for (const { plane, s, d } of missed) {
    const field = readRayField(grid, map, darkness, plane, s, d);
    const referenceMm = radiiOfBody(surface, geometry, field);
    if (referenceMm)
      traces.push(
        firstLook(
          field,
          model,
          Int32Array.from(referenceMm, (mm) => Math.max(0, Math.round(mm / radiusStepMm - 0.5))),
        ),
      );
  }
  traces.sort((a, b) => a.field.plane - b.field.plane);
}

/** Standard deviations up to which a vertex counts as seen or as weak, mm; what the ray alone shows must be narrower than the second. */
const seenSdMm = [0.9, 2.2] as const;
const weakSdMm = [1.4, 4] as const;
const cutSdMm = 5;
/** The mean of the odds lies this much inside the wall on clear pictures: half a step of the rays. */
const wallOffsetMm = 0.25;
const mostCompletionMm = 45;

function outlineOf(trace: PlaneTrace, surfaceMm: Float64Array | undefined): PlaneOutline {
  const { field, posterior } = trace;
  const referenceMm = surfaceMm ?? trace.referenceMm;
  const vertices: OutlineVertex[] = [];
  for (let ray = 0; ray < rayCount; ray += 1) {
    const exitMm = (field.exit[ray] as number) * radiusStepMm;
    const meanMm = posterior.meanMm[ray] as number;
    const sdMm = posterior.sdMm[ray] as number;
    const ownMm = posterior.ownSdMm[ray] as number;
    const at = Math.max(0, Math.min(mostRadii - 1, Math.round(meanMm / radiusStepMm - 0.5)));
    const hidden =
      trace.blind?.[ray] === 1 ||
      [at - 2, at + 1].some(
        (near) => field.hidden[ray * mostRadii + Math.max(0, Math.min(mostRadii - 1, near))] === 1,
      );
    const cut = wallRunsOut(field, posterior, ray) && (referenceMm[ray] as number) > exitMm - 1;
    const seenAs: VertexClass = cut
      ? 'cut'
      : hidden
        ? 'shadow'
        : sdMm < seenSdMm[0] && ownMm < seenSdMm[1]
          ? 'seen'
          : sdMm < weakSdMm[0] && ownMm < weakSdMm[1]
            ? 'weak'
            : 'inferred';
    const radiusMm = cut
      ? Math.max(exitMm, Math.min(exitMm + mostCompletionMm, referenceMm[ray] as number))
      : Math.max(0.5, meanMm + wallOffsetMm);
    vertices.push({
      sMm: (field.seedMm[0] as number) + radiusMm * (field.cosine[ray] as number),
      dMm: (field.seedMm[1] as number) + radiusMm * (field.sine[ray] as number),
      sdMm: cut ? cutSdMm : sdMm,
      seenAs,
    });
  }
  return { plane: field.plane, vertices };
}

/** Share of the outlined area that is dark. */
function darkShareOf(traces: readonly PlaneTrace[]): number {
  let dark = 0;
  let cells = 0;
  for (const { field, posterior } of traces) {
    for (let ray = 0; ray < rayCount; ray += 1) {
      const at = Math.min(mostRadii, Math.round((posterior.meanMm[ray] as number) / radiusStepMm));
      for (let inner = 0; inner < at; inner += 2) {
        cells += inner;
        if ((field.dark[ray * mostRadii + inner] as number) > -0.3) dark += inner;
      }
    }
  }
  return cells > 0 ? dark / cells : 1;
}
