/**
 * The sector of an ultrasound picture from the pixels that are not black in any frame, seen from the stated origin.
 *
 * Range first, along the middle beams; then the angle, outwards from the middle until most of the beam is black. So
 * writing and bars beside the sector do not widen it.
 *
 * Units     mm, degrees, pixels
 * Domain    at least 1000 lit pixels; half angle above 5° and below 89°; at least 20 mm of depth
 * Errors    dicom/sector-unclear, dicom/scale-implausible
 */
import type { GreyPlane, PlaneSetGeometry } from '@ebbline/imaging';
import { refuse, type Refusal } from '@ebbline/core/quantity';
import type { PictureScale } from './regions.ts';

/** Black in a picture that was packed with losses is not quite 0. */
const darkest = 8;
const middleDeg = 10;
const binsPerDegree = 10;
const binsPerMm = 4;
const leastShare = 0.2;
// A bladder can not be looked at through less (S-dicom-range).
const leastDepthMm = 20;
const leastLit = 1000;

export function sectorOfPicture(
  frames: readonly GreyPlane[],
  scale: PictureScale,
): Pick<PlaneSetGeometry, 'apexPx' | 'sector'> | Refusal {
  const unclear = refuse('dicom/sector-unclear', {
    asked: 'Volume from images',
    found: 'a picture whose sector can not be told',
    allowed: 'a stated origin of the beams and a dark surround, or a geometry file',
    todo: 'Give the geometry of this image.',
  });
  const [first] = frames;
  const { originPx: apexPx, mmPerPx, region } = scale;
  if (!apexPx || !first) return unclear;
  const lit = new Uint8Array(first.width * first.height);
  for (const { grey } of frames)
    for (let at = 0; at < lit.length; at += 1) if ((grey[at] as number) > darkest) lit[at] = 1;
  let count = 0;
  /** Calls back with angle and range of every pixel of the region. */
  const each = (take: (angleDeg: number, rangeMm: number, isLit: boolean) => void): void => {
    for (let y = Math.max(0, region.minY); y <= region.maxY; y += 1) {
      for (let x = Math.max(0, region.minX); x <= region.maxX; x += 1) {
        const s = (x - apexPx.x) * mmPerPx.x;
        const d = (y - apexPx.y) * mmPerPx.y;
        take((Math.abs(Math.atan2(s, d)) * 180) / Math.PI, Math.hypot(s, d), lit[y * first.width + x] === 1);
      }
    }
  };
  const byRange = shares(1000 * binsPerMm);
  each((angleDeg, rangeMm, isLit) => {
    if (isLit) count += 1;
    if (angleDeg <= middleDeg) byRange.add(Math.floor(rangeMm * binsPerMm), isLit);
  });
  const fromMm = byRange.first(leastShare) / binsPerMm;
  const rMaxMm = (byRange.last(leastShare) + 1) / binsPerMm;
  const byAngle = shares(90 * binsPerDegree);
  each((angleDeg, rangeMm, isLit) => {
    if (rangeMm >= fromMm && rangeMm <= rMaxMm) byAngle.add(Math.floor(angleDeg * binsPerDegree), isLit);
  });
  const halfAngleDeg = byAngle.unbroken(leastShare, binsPerDegree) / binsPerDegree;
  // Close to the origin the middle beams hold too few pixels to see the inner edge: all beams do.
  const near = shares(1000 * binsPerMm);
  each((angleDeg, rangeMm, isLit) => {
    if (angleDeg <= halfAngleDeg) near.add(Math.floor(rangeMm * binsPerMm), isLit);
  });
  const rMinMm = near.first(leastShare) / binsPerMm;
  if (count < leastLit || !(halfAngleDeg > 5 && halfAngleDeg < 89 && rMaxMm > rMinMm)) return unclear;
  if (rMaxMm < rMinMm + leastDepthMm) {
    return refuse('dicom/scale-implausible', {
      asked: 'Scale of the image',
      found: `an ultrasound picture only ${Math.round(rMaxMm - rMinMm)} mm deep`,
      allowed: `at least ${leastDepthMm} mm for a bladder`,
      todo: 'Check the unit of the pixel size at its source, or give the geometry.',
    });
  }
  return { apexPx, sector: { halfAngleDeg, rMinMm, rMaxMm } };
}

/** Share of lit pixels in each of a row of bins. */
function shares(bins: number): {
  add(bin: number, isLit: boolean): void;
  first(least: number): number;
  last(least: number): number;
  unbroken(least: number, gap: number): number;
} {
  const all = new Uint32Array(bins);
  const lit = new Uint32Array(bins);
  const share = (bin: number): number => (all[bin] ? (lit[bin] as number) / (all[bin] as number) : 0);
  return {
    add(bin, isLit) {
      if (bin >= bins) return;
      all[bin] = (all[bin] as number) + 1;
      if (isLit) lit[bin] = (lit[bin] as number) + 1;
    },
    first(least) {
      let bin = 0;
      while (bin < bins - 1 && share(bin) < least) bin += 1;
      return bin;
    },
    last(least) {
      let bin = bins - 1;
      while (bin > 0 && share(bin) < least) bin -= 1;
      return bin;
    },
    /** How many bins from the middle until `gap` of them in a row are dark; a bin without pixels is passed over. */
    unbroken(least, gap) {
      let end = 0;
      let dark = 0;
      for (let bin = 0; bin < bins && dark < gap; bin += 1) {
        if (all[bin] === 0) continue;
        dark = share(bin) < least ? dark + 1 : 0;
        if (dark === 0) end = bin + 1;
      }
      return end;
    },
  };
}
