/**
 * Scale of an ultrasound picture from its calibrated regions.
 *
 * A region counts only when it is two-dimensional tissue, both axes are in centimetres, both deltas are set and
 * plausible, and its bounds lie inside the picture. A bound equal to the number of columns or rows is taken as written
 * exclusively and drawn in by one. One region that leaves the picture spoils the others too: the picture was cut or
 * resized. Several that count must agree, or the one of high priority decides; else no scale. A delta below zero only
 * says which way the axis runs.
 *
 * Units     in cm a pixel, out mm a pixel
 * Errors    dicom/scale-missing, dicom/scale-not-2d, dicom/scale-not-tissue, dicom/scale-not-cm, dicom/scale-outside-image,
 *           dicom/scale-zero, dicom/scale-implausible, dicom/scale-contradictory, dicom/scale-spacing-differs,
 *           dicom/scale-point-outside
 * Source    DICOM PS3.3 C.8.5.5 (S-dicom-ps3.3); plausible range made here (S-dicom-range)
 */
import { controlIsOn, isRefusal, refuse, type Refusal } from '@ebbline/core/quantity';

export interface UltrasoundRegion {
  readonly spatialFormat: number;
  readonly dataType: number;
  readonly flags: number;
  readonly minX: number;
  readonly minY: number;
  readonly maxX: number;
  readonly maxY: number;
  readonly unitsX: number;
  readonly unitsY: number;
  readonly deltaX: number;
  readonly deltaY: number;
  /** Pixel, from the region's corner, and its place in cm; both or neither. */
  readonly reference?: { readonly x: number; readonly y: number; readonly cmX: number; readonly cmY: number };
}

export interface PictureScale {
  readonly mmPerPx: { readonly x: number; readonly y: number };
  readonly region: {
    readonly minX: number;
    readonly minY: number;
    readonly maxX: number;
    readonly maxY: number;
  };
  /** Pixel of the physical origin, when the region states it. */
  readonly originPx?: { readonly x: number; readonly y: number };
  /** Depth is said to grow upwards on the picture. */
  readonly depthRunsUp: boolean;
  /** Calibrated pictures that lie beside each other and could each be meant. */
  readonly panes: number;
}

const centimetre = 3;
const leastCm = 0.0005;
const mostCm = 0.5;
const mostExtentCm = 60;

const no = (
  code: string,
  found: string,
  todo = 'Do not measure; give two points of known distance, or enter the diameters by hand.',
): Refusal =>
  refuse(`dicom/${code}`, {
    asked: 'Scale of the image',
    found,
    allowed: 'one calibrated region of two-dimensional tissue in centimetres that lies inside the picture',
    todo,
  });

/** The scale of a whole picture. `pixelSpacingMm` is the row and column spacing if the file has one. */
export function pictureScale(
  regions: readonly UltrasoundRegion[],
  picture: { readonly width: number; readonly height: number },
  pixelSpacingMm?: readonly [number, number],
): PictureScale | Refusal {
  const tissue = tissueRegions(regions, pixelSpacingMm !== undefined);
  if (isRefusal(tissue)) return tissue;
  const inside = tissue.filter(
    (one) =>
      one.minX >= 0 &&
      one.minY >= 0 &&
      one.minX < one.maxX &&
      one.minY < one.maxY &&
      one.maxX <= picture.width &&
      one.maxY <= picture.height,
  );
  if (inside.length < tissue.length && controlIsOn('scale-inside-image')) {
    return no(
      'scale-outside-image',
      'a region that runs over the edge of the picture, so the picture was cut or resized after calibration',
    );
  }
  const chosen = inside.length > 0 ? inside : tissue;
  for (const one of chosen) {
    const sizes = [Math.abs(one.deltaX), Math.abs(one.deltaY)] as const;
    if (!sizes.every((delta) => delta > 0)) return no('scale-zero', 'a pixel size of zero, or none');
    const plausible =
      sizes.every((delta) => delta >= leastCm && delta <= mostCm) &&
      sizes[0] * (one.maxX - one.minX) <= mostExtentCm &&
      sizes[1] * (one.maxY - one.minY) <= mostExtentCm;
    if (!plausible) return no('scale-implausible', 'a pixel size that can not be, perhaps in another unit');
  }
  const high = chosen.filter((one) => (one.flags & 1) === 0);
  const pool = high.length > 0 ? high : chosen;
  const first = pool[0] as UltrasoundRegion;
  const agree = pool.every((one) => near(one.deltaX, first.deltaX) && near(one.deltaY, first.deltaY));
  if (!agree && controlIsOn('scale-contradiction'))
    return no('scale-contradictory', 'regions with different pixel sizes');
  const mmPerPx = { x: Math.abs(first.deltaX) * 10, y: Math.abs(first.deltaY) * 10 };
  if (
    pixelSpacingMm &&
    !(near(pixelSpacingMm[1], mmPerPx.x) && near(pixelSpacingMm[0], mmPerPx.y)) &&
    controlIsOn('scale-contradiction')
  ) {
    return no('scale-spacing-differs', 'a pixel spacing that differs from the calibrated region');
  }
  const region = {
    minX: first.minX,
    minY: first.minY,
    maxX: Math.min(first.maxX, picture.width - 1),
    maxY: Math.min(first.maxY, picture.height - 1),
  };
  const reference = first.reference;
  return {
    mmPerPx,
    region,
    depthRunsUp: first.deltaY < 0,
    panes: 1 + pool.filter((one) => apart(one, first)).length,
    ...(reference
      ? {
          originPx: {
            x: first.minX + reference.x - reference.cmX / first.deltaX,
            y: first.minY + reference.y - reference.cmY / first.deltaY,
          },
        }
      : {}),
  };
}

/** The regions of tissue in centimetres, or why there is none. */
function tissueRegions(
  regions: readonly UltrasoundRegion[],
  hasSpacing: boolean,
): readonly UltrasoundRegion[] | Refusal {
  if (regions.length === 0) {
    return no(
      'scale-missing',
      hasSpacing
        ? 'a pixel spacing, but no calibrated region that it could be checked against'
        : 'no calibrated region',
    );
  }
  const flat = regions.filter((one) => one.spatialFormat === 1);
  if (flat.length === 0)
    return no(
      'scale-not-2d',
      'only regions over time or without a picture: M-mode, spectrum, curve, drawing',
    );
  const tissue = flat.filter((one) => one.dataType === 1);
  if (tissue.length === 0) return no('scale-not-tissue', 'only regions that are not tissue');
  const inCm = tissue.filter((one) => one.unitsX === centimetre && one.unitsY === centimetre);
  return inCm.length > 0 ? inCm : no('scale-not-cm', 'regions of tissue in another unit than centimetres');
}

const apart = (a: UltrasoundRegion, b: UltrasoundRegion): boolean =>
  a.minX >= b.maxX || b.minX >= a.maxX || a.minY >= b.maxY || b.minY >= a.maxY;

const near = (a: number, b: number): boolean => Math.abs(Math.abs(a) - Math.abs(b)) <= 0.01 * Math.abs(b);

/** The scale at two points of the picture; both must lie in the region that gave it. */
export function scaleAtPoints(
  scale: PictureScale,
  points: readonly { readonly x: number; readonly y: number }[],
): PictureScale['mmPerPx'] | Refusal {
  const { minX, minY, maxX, maxY } = scale.region;
  const within = points.every((one) => one.x >= minX && one.x <= maxX && one.y >= minY && one.y <= maxY);
  return within
    ? scale.mmPerPx
    : no(
        'scale-point-outside',
        'a point outside the calibrated region',
        'Place both points inside the ultrasound picture.',
      );
}
