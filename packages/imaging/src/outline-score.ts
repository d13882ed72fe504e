/**
 * Outlines of a person held against the true ones on the same planes: how far off on each plane, and what that does to
 * the volume. Both are cut to the picture first, so that nobody is judged by what could not be seen.
 *
 * Frame     plane-set.ts; truth by plane as flat s, d pairs in mm, any number of outlines a plane
 * Units     mm, mL
 * Domain    a fan or a sweep of at least three planes; planes without the bladder stay without an outline
 * Errors    imaging/not-to-be-scored, geometry/*
 * Source    layout sums (S-geometry-closed-form)
 */
import { sweepVolume, type Polygon } from '@ebbline/core/geometry';
import { isRefusal, refuse, type Refusal } from '@ebbline/core/quantity';
import { clipToSector } from './clip.ts';
import { compareOutlines, type OutlineComparison } from './outline-compare.ts';
import type { PlaneOutline } from './outline.ts';
import type { PlaneSetGeometry } from './plane-set.ts';

export interface PlaneScore {
  readonly plane: number;
  /**
   * compared: both are there · missed: the bladder is in the picture and nothing was outlined · too-many: something was
   * outlined where no bladder is · empty: neither
   */
  readonly state: 'compared' | 'missed' | 'too-many' | 'empty';
  readonly comparison?: OutlineComparison;
}

export interface OutlineScore {
  readonly outlinedMl: number;
  /** What perfect outlines of the part in the picture give on the same planes. */
  readonly trueMl: number;
  readonly errorMl: number;
  /** Share of the true volume; undefined where there is none. */
  readonly errorShare?: number;
  /** Mean distance over all compared planes, by the length of their outlines; undefined where none was compared. */
  readonly offMm?: number;
  readonly planes: readonly PlaneScore[];
}

const leastAreaPoints = 6;

export function scoreOutlines(
  geometry: PlaneSetGeometry,
  drawn: readonly PlaneOutline[],
  truth: readonly (readonly Polygon[])[],
): OutlineScore | Refusal {
  const { layout } = geometry;
  if (layout === 'two_orthogonal_planes' || truth.length !== geometry.planes.length) {
    return refuse('imaging/not-to-be-scored', {
      asked: 'Score of outlines',
      found: layout === 'two_orthogonal_planes' ? 'two planes' : `truth of ${truth.length} planes`,
      allowed: 'a fan or a sweep with the truth of every plane',
      todo: 'Choose another exercise.',
    });
  }
  const inPicture = (polygon: Polygon): Float64Array[] => {
    const clipped = clipToSector(Float64Array.from(polygon), geometry.sector);
    return clipped.length >= leastAreaPoints ? [clipped] : [];
  };
  const theirs = geometry.planes.map((_, plane) => {
    const outline = drawn.find((one) => one.plane === plane);
    return outline && outline.vertices.length >= 3
      ? inPicture(Float64Array.from(outline.vertices.flatMap(({ sMm, dMm }) => [sMm, dMm])))
      : [];
  });
  const real = truth.map((polygons) => polygons.flatMap(inPicture));
  const sum = (polygons: readonly (readonly Float64Array[])[]) =>
    sweepVolume(
      layout,
      geometry.planes.map(({ position }, plane) => ({ position, polygons: polygons[plane] ?? [] })),
    );
  const outlined = sum(theirs);
  if (isRefusal(outlined)) return outlined;
  const perfect = sum(real);
  if (isRefusal(perfect)) return perfect;
  const planes = geometry.planes.map((_, plane): PlaneScore => {
    const [own] = theirs[plane] ?? [];
    const there = real[plane] ?? [];
    if (!own) return { plane, state: there.length > 0 ? 'missed' : 'empty' };
    const comparison = compareOutlines(own, there);
    return isRefusal(comparison) ? { plane, state: 'too-many' } : { plane, state: 'compared', comparison };
  });
  const samples = planes.flatMap((one) => one.comparison?.samples ?? []);
  const errorMl = outlined.volumeMl - perfect.volumeMl;
  return {
    outlinedMl: outlined.volumeMl,
    trueMl: perfect.volumeMl,
    errorMl,
    ...(perfect.volumeMl > 0 ? { errorShare: errorMl / perfect.volumeMl } : {}),
    ...(samples.length > 0
      ? { offMm: samples.reduce((total, one) => total + Math.abs(one.signedMm), 0) / samples.length }
      : {}),
    planes,
  };
}
