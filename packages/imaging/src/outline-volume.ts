/**
 * Volume, 90 % interval and reasons from outlines, wherever they come from: the tracer or a person's hand.
 *
 * Frame     outlines may run past the sector where the body is cut; the part inside the sector is the bound
 * Units     mL, mm
 * Domain    a set with a layout that has at least its least number of planes (core/geometry/layout-volume.ts)
 * Errors    the refusals of core/geometry become the answer `refused`
 * Interval  interval.ts; the bound of `at-least` is what was seen less 1.645 standard deviations of its wall and scale
 * Source    S-imaging-tuning; speed of sound S-clinical-A20
 */
import { convexHullAreaMm2, polygonAreaMm2, sweepVolume, twoPlanesDiscVolume } from '@ebbline/core/geometry';
import { controlIsOn, isRefusal, refuse, type Refusal } from '@ebbline/core/quantity';
import { clipToSector } from './clip.ts';
import { intervalMl } from './interval.ts';
import { flatOutline, type PlaneOutline } from './outline.ts';
import type { PlaneSetGeometry } from './plane-set.ts';
import { reason, type Reason } from './reasons.ts';
import type { ShadowBeams } from './shadow-beams.ts';
import { bodyThrough, pastSweepMl, shadowMl } from './unseen.ts';
import { wallSpread } from './wall-spread.ts';

export type Answer = 'volume' | 'at-least' | 'none-seen' | 'refused';

/** What the tracer noticed beside the outlines; a person's edit keeps it. */
export interface Findings {
  /** Sum of the other fluid regions, mL. */
  readonly otherFluidMl?: number;
  /** Share of the outlined area that is dark, 0 to 1. */
  readonly darkShare?: number;
  readonly lowContrast?: boolean;
  /** Root mean square distance of the outlines, each traced by itself, from one closed surface, mm. */
  readonly planesDisagreeMm?: number;
  /** Beams through the outline behind which nothing comes back. */
  readonly shadows?: readonly ShadowBeams[];
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

/** The bound: one-sided 95 % on where the wall that was seen lies, with a common offset and the scale. */
const half90 = 1.645;
const commonOffsetMm = 1;
const scaleShare = 0.02;
/** Less than this unseen is within the error of the rest. */
const leastHiddenMl = 2;
const leastHiddenShare = 0.03;
const nearEmptyMl = 20;
const smallMl = 50;
const noneMl = 1;
/** Root mean square distance from one closed surface, as a share of the radius, above which it is no one body. */
const irregularShare = 0.17;
/** The same when beams in shadow show walls that are none. */
const irregularInShadowShare = 0.3;
/** Share of its convex hull that an outline of a bladder fills, indented base included. */
const leastFilledShare = 0.9;

type Flat = Float64Array;

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
    const polygon = flatOutline(outline);
    whole[outline.plane]?.push(polygon);
    const clipped = clipToSector(polygon, geometry.sector);
    if (clipped.length >= 6) inside[outline.plane]?.push(clipped);
  }
  const full = layoutVolume(geometry, whole);
  if (isRefusal(full)) return refusedBy(full);
  const seenPart = given.some((outline) => outline.vertices.some((vertex) => vertex.seenAs === 'cut'))
    ? layoutVolume(geometry, inside)
    : full;
  if (full.volumeMl < noneMl) {
    return { answer: 'none-seen', reasons: [reason('near-empty'), ...byHand], planes: outlines, findings };
  }
  const touched = given.some((outline) => outline.vertices.some((vertex) => vertex.byHand === true));
  const knownMm = touched ? undefined : findings.planesDisagreeMm;
  const swept = geometry.layout === 'tilt_sweep' || geometry.layout === 'parallel_sweep';
  const body = knownMm === undefined || swept ? bodyThrough(geometry, given) : undefined;
  const disagreeMm = knownMm ?? body?.awayMm ?? 0;
  const inPictureMl = isRefusal(seenPart) ? 0 : Math.min(full.volumeMl, seenPart.volumeMl);
  const pastMl = pastSweepMl(geometry, body?.surface, given);
  const volumeMl = full.volumeMl + pastMl;
  const outsideMl = volumeMl - inPictureMl;
  const shadedMl = Math.min(inPictureMl, shadowMl(geometry, inside, findings.shadows ?? []));
  const inViewMl = inPictureMl - shadedMl;
  const radiusMm = 10 * Math.cbrt((3 * volumeMl) / (4 * Math.PI));
  const irregular =
    disagreeMm > Math.max(3, (shadedMl > 0 ? irregularInShadowShare : irregularShare) * radiusMm) ||
    (volumeMl > nearEmptyMl && filledShare(given) < leastFilledShare);
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
  const interval = intervalMl({
    layout: geometry.layout,
    volumeMl,
    wallMl: wall.independentMl,
    perMmMl: wall.perMmMl,
    planesDisagreeMm: disagreeMm,
    darkShare: findings.darkShare ?? 1,
    shadedMl,
    outsideMl,
  });
  const hiddenMl = outsideMl + shadedMl;
  const cut =
    hiddenMl > Math.max(leastHiddenMl, leastHiddenShare * volumeMl) && controlIsOn('cut-is-at-least');
  const reasons: Reason[] = [];
  if (volumeMl < nearEmptyMl) reasons.push(reason('near-empty'));
  else if (volumeMl < smallMl) reasons.push(reason('small'));
  if (cut && outsideMl >= shadedMl) reasons.push(reason('outside-picture'));
  if (shadedMl > 0.02 * volumeMl || wall.shadowShare > 0.06)
    reasons.push(reason(wall.shadowIsLower ? 'lower-wall-shadow' : 'wall-shadow'));
  if (wall.faintShare > 0.25) reasons.push(reason('faint-wall'));
  if (disagreeMm > 3) reasons.push(reason('planes-disagree'));
  if ((findings.otherFluidMl ?? 0) > Math.max(5, 0.1 * volumeMl))
    reasons.push(reason('more-than-one-region'));
  if (irregular || (findings.darkShare !== undefined && findings.darkShare < 0.6))
    reasons.push(reason('irregular'));
  if (findings.lowContrast === true) reasons.push(reason('low-contrast'));
  if (wall.offAxisMm > 20) reasons.push(reason('off-centre'));
  if (geometry.layout === 'two_orthogonal_planes') reasons.push(reason('two-planes-only'));
  if (calipersDisagree(geometry, volumeMl)) reasons.push(reason('calipers-disagree'));
  reasons.push(...byHand);
  // The bound is the seen part less what its own wall and scale may err.
  const seenSdMl = Math.hypot(wall.independentMl, commonOffsetMm * wall.perMmMl, scaleShare * inViewMl);
  const sureMl = Math.max(0, inViewMl - half90 * seenSdMl);
  return {
    answer: cut ? 'at-least' : 'volume',
    volumeMl,
    interval: cut ? { loMl: sureMl, hiMl: interval.hiMl } : interval,
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

/** Operators' diameters scatter; further apart than this, one of the two is wrong (made here, S-imaging-tuning). */
const calipersApartShare = 0.3;
const leastCaliperedMl = 50;

/** Do the diameters that stand with the images give quite another volume, as an ellipsoid? */
function calipersDisagree(geometry: PlaneSetGeometry, volumeMl: number): boolean {
  const { calipersMm } = geometry;
  if (!calipersMm || volumeMl < leastCaliperedMl) return false;
  const ellipsoidMl = ((Math.PI / 6) * calipersMm.width * calipersMm.length * calipersMm.depth) / 1000;
  return Math.abs(ellipsoidMl - volumeMl) > calipersApartShare * volumeMl;
}

/** Share of their convex hulls that the outlines fill, by area. */
function filledShare(outlines: readonly PlaneOutline[]): number {
  let area = 0;
  let hull = 0;
  for (const outline of outlines) {
    const polygon = flatOutline(outline);
    area += polygonAreaMm2(polygon);
    hull += convexHullAreaMm2(polygon);
  }
  return hull > 0 ? area / hull : 0;
}
