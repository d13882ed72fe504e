/**
 * Volume, 90 % interval and reasons from outlines, wherever they come from: the tracer or a person's hand.
 *
 * Frame     outlines may run past the sector where the body is cut; the part inside the sector is the bound
 * Units     mL, mm
 * Domain    a set with a layout that has at least its least number of planes (core/geometry/layout-volume.ts)
 * Errors    the refusals of core/geometry become the answer `refused`
 * Interval  half-width 1.645 standard deviations of: wall placement (correlated along an outline and between
 *           neighbouring planes), one common offset of the wall, scale with speed of sound, shape between planes,
 *           and the completed part. Standard deviations made here (S-imaging-tuning); speed of sound S-clinical-A20.
 */
import {
  absoluteMomentMm3,
  convexHullAreaMm2,
  depthMomentMm3,
  planeWeights,
  polygonAreaMm2,
  polygonExtent,
  sidedMomentMm4,
  sweepVolume,
  twoPlanesDiscVolume,
} from '@ebbline/core/geometry';
import { controlIsOn, isRefusal, refuse, type Refusal } from '@ebbline/core/quantity';
import { clipToSector } from './clip.ts';
import type { PlaneOutline } from './outline.ts';
import type { PlaneSetGeometry, Vector } from './plane-set.ts';
import { reason, type Reason } from './reasons.ts';
import { fitSurface, radialDistanceMm } from './surface.ts';

export type Answer = 'volume' | 'at-least' | 'none-seen' | 'refused';

/** What the tracer noticed beside the outlines; a person's edit keeps it. */
export interface Findings {
  /** Sum of the other fluid regions, mL. */
  readonly otherFluidMl?: number;
  /** Share of the outlined area that is dark, 0 to 1. */
  readonly darkShare?: number;
  readonly lowContrast?: boolean;
}

export interface VolumeResult {
  readonly answer: Answer;
  /** Best estimate; with `at-least` it is the completed estimate. Missing when none was seen or it was refused. */
  readonly volumeMl?: number;
  readonly interval?: { readonly loMl: number; readonly hiMl: number };
  /** With `at-least`: what was seen inside the picture, at its lower limit; the bound of the answer. */
  readonly boundMl?: number;
  readonly method?: string;
  readonly coefficient?: number;
  readonly coefficientSource?: string;
  readonly reasons: readonly Reason[];
  readonly planes: readonly PlaneOutline[];
  readonly findings: Findings;
  /** Root mean square distance of the clear wall points from one closed surface through all planes, mm. */
  readonly planesDisagreeMm?: number;
  readonly refusal?: Refusal;
}

const half90 = 1.645;
const commonOffsetMm = 1;
const scaleShare = 0.02;
const raysCorrelated = 8;
/** Share of the hidden spread that errs to one side. */
const hiddenTogether = 0.5;
const shapeShare: Readonly<Record<PlaneSetGeometry['layout'], number>> = {
  rotational_fan: 0.015,
  tilt_sweep: 0.025,
  parallel_sweep: 0.02,
  two_orthogonal_planes: 0.075,
};
const nearEmptyMl = 20;
const smallMl = 50;
const noneMl = 1;
/** Root mean square distance from one closed surface, as a share of the radius, above which it is no one body. */
const irregularShare = 0.17;
/** Share of its convex hull that an outline of a bladder fills, indented base included. */
const leastFilledShare = 0.9;

type Flat = Float64Array;
const flat = (outline: PlaneOutline): Flat => {
  const out = new Float64Array(outline.vertices.length * 2);
  for (const [index, vertex] of outline.vertices.entries()) {
    out[2 * index] = vertex.sMm;
    out[2 * index + 1] = vertex.dMm;
  }
  return out;
};

/** The sum of the layout over polygons, mL; a refusal when it can't be made. */
function layoutVolume(
  geometry: PlaneSetGeometry,
  byPlane: readonly (readonly Flat[])[],
): { volumeMl: number; method: string; coefficient: number; coefficientSource: string } | Refusal {
  if (geometry.layout === 'two_orthogonal_planes') {
    const [transverse, sagittal] = byPlane;
    if (byPlane.length !== 2 || !transverse?.[0] || !sagittal?.[0]) {
      return refuse('imaging/plane-without-outline', {
        asked: 'Volume from two planes',
        found: 'a plane without an outline',
        allowed: 'an outline on each of the two planes',
        todo: 'Outline the bladder on both planes.',
      });
    }
    return twoPlanesDiscVolume(transverse[0], sagittal[0]);
  }
  const order = geometry.planes.map((plane, index) => ({
    position: plane.position,
    polygons: byPlane[index] ?? [],
  }));
  return sweepVolume(geometry.layout, order);
}

export function volumeFromOutlines(
  geometry: PlaneSetGeometry,
  outlines: readonly PlaneOutline[],
  findings: Findings = {},
): VolumeResult {
  const given = outlines.filter((outline) => outline.vertices.length > 0);
  const byHand: Reason[] =
    geometry.givenByHand === true && controlIsOn('given-by-hand-said') ? [reason('layout-by-hand')] : [];
  const refusedBy = (refusal: Refusal): VolumeResult => ({
    answer: 'refused',
    reasons: byHand,
    planes: outlines,
    findings,
    refusal,
  });
  if (given.length === 0) {
    return { answer: 'none-seen', reasons: [reason('nothing-dark'), ...byHand], planes: outlines, findings };
  }
  const whole: Flat[][] = geometry.planes.map(() => []);
  const inside: Flat[][] = geometry.planes.map(() => []);
  for (const outline of given) {
    const polygon = flat(outline);
    whole[outline.plane]?.push(polygon);
    const clipped = clipToSector(polygon, geometry.sector);
    if (clipped.length >= 6) inside[outline.plane]?.push(clipped);
  }
  const full = layoutVolume(geometry, whole);
  if (isRefusal(full)) return refusedBy(full);
  const seenPart = given.some((outline) => outline.vertices.some((vertex) => vertex.seenAs === 'cut'))
    ? layoutVolume(geometry, inside)
    : full;
  const boundMl = isRefusal(seenPart) ? 0 : Math.min(full.volumeMl, seenPart.volumeMl);
  const volumeMl = full.volumeMl;
  if (volumeMl < noneMl) {
    return { answer: 'none-seen', reasons: [reason('near-empty'), ...byHand], planes: outlines, findings };
  }
  const outsideMl = volumeMl - boundMl;
  const disagreeMm = planesDisagree(geometry, given);
  const radiusMm = 10 * Math.cbrt((3 * volumeMl) / (4 * Math.PI));
  const irregular =
    disagreeMm > Math.max(3, irregularShare * radiusMm) ||
    (volumeMl > nearEmptyMl && filledShare(given) < leastFilledShare);
  const touched = given.some((outline) => outline.vertices.some((vertex) => vertex.byHand === true));
  if (irregular && !touched && controlIsOn('irregular-is-refused')) {
    return {
      ...refusedBy(
        refuse('imaging/not-like-a-bladder', {
          asked: 'Volume from images',
          found: 'a fluid region whose outlines do not make one closed body',
          allowed: 'outlines of one body that fit together from plane to plane',
          todo: 'Look again, or outline the bladder by hand.',
        }),
      ),
      reasons: [reason('irregular'), ...byHand],
      planesDisagreeMm: disagreeMm,
    };
  }
  const wall = wallSpread(geometry, given, volumeMl);
  const share = shapeShare[geometry.layout];
  const sdMl = Math.sqrt(
    wall.independentMl ** 2 +
      (commonOffsetMm * wall.perMmMl) ** 2 +
      (scaleShare * volumeMl) ** 2 +
      (share * volumeMl) ** 2 +
      (0.45 * outsideMl) ** 2 +
      (0.2 * disagreeMm * wall.perMmMl) ** 2,
  );
  const cut = outsideMl > Math.max(3, 0.03 * volumeMl) && controlIsOn('cut-is-at-least');
  const reasons: Reason[] = [];
  if (volumeMl < nearEmptyMl) reasons.push(reason('near-empty'));
  else if (volumeMl < smallMl) reasons.push(reason('small'));
  if (cut) reasons.push(reason('outside-picture'));
  if (wall.shadowShare > 0.06) reasons.push(reason(wall.shadowIsLower ? 'lower-wall-shadow' : 'wall-shadow'));
  if (wall.faintShare > 0.25) reasons.push(reason('faint-wall'));
  if (disagreeMm > 3) reasons.push(reason('planes-disagree'));
  if ((findings.otherFluidMl ?? 0) > Math.max(5, 0.1 * volumeMl))
    reasons.push(reason('more-than-one-region'));
  if (irregular || (findings.darkShare !== undefined && findings.darkShare < 0.6))
    reasons.push(reason('irregular'));
  if (findings.lowContrast === true) reasons.push(reason('low-contrast'));
  if (wall.offAxisMm > 20) reasons.push(reason('off-centre'));
  if (geometry.layout === 'two_orthogonal_planes') reasons.push(reason('two-planes-only'));
  reasons.push(...byHand);
  const hiMl = volumeMl + half90 * sdMl;
  // The bound is the seen part less what its own wall and scale may err.
  const seenSdMl = Math.hypot(wall.independentMl, commonOffsetMm * wall.perMmMl, scaleShare * boundMl);
  const sureMl = Math.max(0, boundMl - half90 * seenSdMl);
  return {
    answer: cut ? 'at-least' : 'volume',
    volumeMl,
    interval: { loMl: cut ? sureMl : Math.max(0, volumeMl - half90 * sdMl), hiMl },
    ...(cut ? { boundMl: sureMl } : {}),
    method: full.method,
    coefficient: full.coefficient,
    coefficientSource: full.coefficientSource,
    reasons,
    planes: outlines,
    findings,
    planesDisagreeMm: disagreeMm,
  };
}

/** Share of their convex hulls that the outlines fill, by area. */
function filledShare(outlines: readonly PlaneOutline[]): number {
  let area = 0;
  let hull = 0;
  for (const outline of outlines) {
    const polygon = flat(outline);
    area += polygonAreaMm2(polygon);
    hull += convexHullAreaMm2(polygon);
  }
  return hull > 0 ? area / hull : 0;
}

/** Root mean square distance of clear wall points from one smooth closed surface, mm; 0 when there are too few. */
function planesDisagree(geometry: PlaneSetGeometry, outlines: readonly PlaneOutline[]): number {
  let room = 0;
  for (const outline of outlines) room += outline.vertices.length;
  const pointsMm = new Float64Array(3 * room);
  const sdMm = new Float64Array(room);
  let count = 0;
  const middle = [0, 0, 0];
  for (const outline of outlines) {
    const pose = geometry.planes[outline.plane];
    if (!pose) continue;
    for (const vertex of outline.vertices) {
      if (vertex.seenAs !== 'seen' && vertex.seenAs !== 'weak') continue;
      for (let axis = 0; axis < 3; axis += 1) {
        const value =
          (pose.originMm[axis] as number) +
          vertex.sMm * (pose.lateral[axis] as number) +
          vertex.dMm * (pose.axial[axis] as number);
        pointsMm[3 * count + axis] = value;
        middle[axis] = (middle[axis] as number) + value;
      }
      sdMm[count] = vertex.sdMm;
      count += 1;
    }
  }
  if (count < 60) return 0;
  const centreMm: Vector = [
    (middle[0] as number) / count,
    (middle[1] as number) / count,
    (middle[2] as number) / count,
  ];
  const surface = fitSurface(
    { pointsMm, sdMm, count },
    centreMm,
    geometry.layout === 'two_orthogonal_planes' ? 4 : 6,
  );
  if (!surface) return 0;
  let squares = 0;
  for (let index = 0; index < count; index += 1) {
    squares +=
      radialDistanceMm(
        surface,
        pointsMm[3 * index] as number,
        pointsMm[3 * index + 1] as number,
        pointsMm[3 * index + 2] as number,
      ) ** 2;
  }
  return Math.sqrt(squares / count);
}

interface WallSpread {
  /** Standard deviation from wall placement, mL. */
  readonly independentMl: number;
  /** Change of volume when the whole wall moves out by 1 mm, mL. */
  readonly perMmMl: number;
  readonly shadowShare: number;
  readonly shadowIsLower: boolean;
  readonly faintShare: number;
  readonly offAxisMm: number;
}

/** How wall placement spreads the volume, by moving each vertex 1 mm out from its outline's middle. */
function wallSpread(
  geometry: PlaneSetGeometry,
  outlines: readonly PlaneOutline[],
  volumeMl: number,
): WallSpread {
  const sweep = geometry.layout !== 'two_orthogonal_planes';
  const weights = sweep
    ? planeWeights(
        geometry.layout as 'tilt_sweep',
        geometry.planes.map((plane) => plane.position),
      )
    : undefined;
  let variance = 0;
  let hidden = 0;
  let perMm = 0;
  let total = 0;
  let shadow = 0;
  let shadowLower = 0;
  let faint = 0;
  let sumX = 0;
  let sumY = 0;
  let whole = 0;
  for (const outline of outlines) {
    const polygon = flat(outline);
    const moment =
      geometry.layout === 'rotational_fan'
        ? absoluteMomentMm3
        : geometry.layout === 'tilt_sweep'
          ? depthMomentMm3
          : polygonAreaMm2;
    const before = moment(polygon);
    const extent = polygonExtent(polygon);
    const midS = (extent.minS + extent.maxS) / 2;
    const midD = (extent.minD + extent.maxD) / 2;
    const weight = weights && !isRefusal(weights) ? (weights[outline.plane] as number) : 0;
    const pose = geometry.planes[outline.plane];
    const count = outline.vertices.length;
    const slope = new Float64Array(count);
    for (const [index, vertex] of outline.vertices.entries()) {
      const ds = vertex.sMm - midS;
      const dd = vertex.dMm - midD;
      const length = Math.hypot(ds, dd) || 1;
      polygon[2 * index] = vertex.sMm + ds / length;
      polygon[2 * index + 1] = vertex.dMm + dd / length;
      const change = moment(polygon) - before;
      polygon[2 * index] = vertex.sMm;
      polygon[2 * index + 1] = vertex.dMm;
      // Two planes: a share of the area moves the same share of the volume, half through each plane's own diameters.
      const mL = sweep ? (change * weight) / 1000 : (0.75 * volumeMl * change) / Math.max(1, before);
      slope[index] = mL;
      const size = Math.abs(mL);
      total += size;
      perMm += mL;
      if (vertex.seenAs === 'shadow') {
        shadow += size;
        if (pose && ds * pose.lateral[1] + dd * pose.axial[1] < 0) shadowLower += size;
      }
      if (vertex.seenAs === 'weak' || vertex.seenAs === 'inferred') faint += size;
    }
    let planeVariance = 0;
    const spread = new Float64Array(count);
    for (const [index, vertex] of outline.vertices.entries()) {
      const own = (slope[index] as number) * vertex.sdMm;
      // What nobody sees is guessed by one rule, so it errs to one side together.
      if (vertex.seenAs === 'shadow' || vertex.seenAs === 'inferred') hidden += Math.abs(own);
      else spread[index] = own;
    }
    for (let i = 0; i < count; i += 1) {
      const own = spread[i] as number;
      planeVariance += own * own;
      for (let away = 1; away <= 3 * raysCorrelated && away < count / 2; away += 1) {
        const j = (i + away) % count;
        planeVariance += 2 * own * (spread[j] as number) * Math.exp(-away / raysCorrelated);
      }
    }
    // Neighbouring planes err alike on both sides: a correlation of one half each gives about twice the variance.
    variance += 2 * Math.max(0, planeVariance);
    if (pose) {
      // Where this plane's part of the body lies beside the probe axis, and how much of the body it is.
      const fan = geometry.layout === 'rotational_fan';
      const part = sweep ? weight * before : polygonAreaMm2(polygon);
      const aside = fan ? sidedMomentMm4(polygon) / Math.max(1, before) : midS;
      sumX += part * (pose.originMm[0] + aside * pose.lateral[0]);
      sumY += part * (pose.originMm[1] + aside * pose.lateral[1]);
      whole += part;
    }
  }
  const share = (part: number): number => (total > 0 ? part / total : 0);
  return {
    independentMl: Math.hypot(Math.sqrt(variance), hiddenTogether * hidden),
    perMmMl: Math.max(0, perMm),
    shadowShare: share(shadow),
    shadowIsLower: shadowLower > 0.6 * shadow,
    faintShare: share(faint),
    offAxisMm: whole > 0 ? Math.hypot(sumX, geometry.layout === 'rotational_fan' ? sumY : 0) / whole : 0,
  };
}
