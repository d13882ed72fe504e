/**
 * How wall placement spreads the volume, by moving each vertex 1 mm out from its outline's middle.
 *
 * Units     mm, mL
 * Source    error propagation; correlations made here (S-imaging-tuning)
 */
import {
  absoluteMomentMm3,
  depthMomentMm3,
  planeWeights,
  polygonAreaMm2,
  polygonExtent,
  sidedMomentMm4,
} from '@ebbline/core/geometry';
import { isRefusal } from '@ebbline/core/quantity';
import { flatOutline, type PlaneOutline } from './outline.ts';
import type { PlaneSetGeometry } from './plane-set.ts';

/** Rays over which the place of the wall errs alike. */
const raysCorrelated = 8;
/** Share of the hidden spread that errs to one side. */
const hiddenTogether = 0.5;

export interface WallSpread {
  /** Standard deviation from wall placement, mL. */
  readonly independentMl: number;
  /** Change of volume when the whole wall moves out by 1 mm, mL. */
  readonly perMmMl: number;
  readonly shadowShare: number;
  readonly shadowIsLower: boolean;
  readonly faintShare: number;
  readonly offAxisMm: number;
}

export function wallSpread(
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
    const polygon = flatOutline(outline);
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
