/**
 * A set of decoded grey planes with the geometry that places them: what the tracer reads. No file format, no pixels of
 * colour. Plain values and typed arrays only, so that a set can be posted to a worker as it is.
 *
 * Frame     x lateral, y towards the head, z depth along the undeviated probe axis; origin at the apex of the beam fan.
 *           In a plane: s lateral from the probe axis, d depth from the apex;
 *           s = (px − apexPx.x) · mmPerPx.x, d = (py − apexPx.y) · mmPerPx.y, pixel centres, top-left pixel centre = 0, 0;
 *           point = origin + s · lateral + d · axial
 * Units     mm, degrees, pixels as named
 */
export type Layout = 'rotational_fan' | 'two_orthogonal_planes' | 'tilt_sweep' | 'parallel_sweep';

export type Vector = readonly [number, number, number];

export interface PlanePose {
  /** Turn or tilt in degrees, or shift in mm, as the layout says. */
  readonly position: number;
  readonly originMm: Vector;
  readonly lateral: Vector;
  readonly axial: Vector;
}

export interface PlaneSetGeometry {
  readonly layout: Layout;
  readonly mmPerPx: { readonly x: number; readonly y: number };
  readonly apexPx: { readonly x: number; readonly y: number };
  readonly sector: { readonly halfAngleDeg: number; readonly rMinMm: number; readonly rMaxMm: number };
  readonly planes: readonly PlanePose[];
  /** An operator's three diameters, when they stand with the images. */
  readonly calipersMm?: { readonly width: number; readonly length: number; readonly depth: number };
  /** True when a person gave scale or layout because the file had none. */
  readonly givenByHand?: boolean;
}

export interface GreyPlane {
  readonly width: number;
  readonly height: number;
  /** Row by row, one byte a pixel. */
  readonly grey: Uint8Array;
}

export interface PlaneSet {
  readonly geometry: PlaneSetGeometry;
  readonly planes: readonly GreyPlane[];
}
