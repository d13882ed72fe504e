/**
 * A DICOM ultrasound image as a plane set for the tracer.
 *
 * The layout comes from a geometry the person gives, else from our own words in the comment; there is no third way. The
 * sector is read off the picture when no geometry is given: the pixels that are bright in any frame, seen from the
 * stated origin. A given scale must not contradict the calibrated one.
 *
 * Units     mm, degrees, pixels
 * Errors    dicom/layout-missing, dicom/layout-frames, dicom/sector-unclear, dicom/scale-contradictory, and the scale's own
 */
import type { PlaneSet, PlaneSetGeometry } from '@ebbline/imaging';
import { controlIsOn, isRefusal, refuse, type Refusal } from '@ebbline/core/quantity';
import { poseOf } from '../planeset/index.ts';
import type { UltrasoundImage } from './read.ts';

export function planeSetOfImage(image: UltrasoundImage, given?: PlaneSetGeometry): PlaneSet | Refusal {
  const frames = image.frames.length;
  const wrongCount = (planes: number): Refusal =>
    refuse('dicom/layout-frames', {
      asked: 'Volume from images',
      found: `${frames} frames for ${planes} planes`,
      allowed: 'one frame for each plane',
      todo: 'Give the geometry of this image.',
    });
  if (given) {
    if (given.planes.length !== frames) return wrongCount(given.planes.length);
    if (!isRefusal(image.scale)) {
      const { mmPerPx } = image.scale;
      const agree =
        Math.abs(given.mmPerPx.x / mmPerPx.x - 1) <= 0.01 &&
        Math.abs(given.mmPerPx.y / mmPerPx.y - 1) <= 0.01;
      if (!agree && controlIsOn('scale-contradiction')) {
        return refuse('dicom/scale-contradictory', {
          asked: 'Scale of the image',
          found: 'a given pixel size that differs from the calibrated one',
          allowed: 'sizes that agree within 1 %',
          todo: 'Check which geometry belongs to this image.',
        });
      }
    }
    return { geometry: { ...given, givenByHand: true }, planes: image.frames };
  }
  if (isRefusal(image.scale)) return image.scale;
  if (!image.layout) {
    return refuse('dicom/layout-missing', {
      asked: 'Volume from images',
      found: 'no layout of the planes',
      allowed: 'a geometry file with the angle or offset of each plane',
      todo: 'Give the layout: --geometry FILE, or choose it from the list.',
    });
  }
  if (image.layout.positions.length !== frames) return wrongCount(image.layout.positions.length);
  const sector = sectorOfPicture(image);
  if (isRefusal(sector)) return sector;
  const { layout, positions } = image.layout;
  return {
    geometry: {
      layout,
      mmPerPx: image.scale.mmPerPx,
      ...sector,
      planes: positions.map((position) => poseOf(layout, position)),
    },
    planes: image.frames,
  };
}

/** The sector from the pixels that are not black in any frame, as seen from the stated origin. */
function sectorOfPicture(image: UltrasoundImage): Pick<PlaneSetGeometry, 'apexPx' | 'sector'> | Refusal {
  const unclear = refuse('dicom/sector-unclear', {
    asked: 'Volume from images',
    found: 'a picture whose sector can not be told',
    allowed: 'a stated origin of the beams and a dark surround, or a geometry file',
    todo: 'Give the geometry of this image.',
  });
  const first = image.frames[0];
  if (isRefusal(image.scale) || !image.scale.originPx || !first) return unclear;
  const { originPx: apexPx, mmPerPx, region } = image.scale;
  const lit = new Uint8Array(first.width * first.height);
  for (const frame of image.frames) {
    for (let at = 0; at < lit.length; at += 1) if ((frame.grey[at] as number) > 2) lit[at] = 1;
  }
  const byAngle = new Uint32Array(900);
  const byRange = new Uint32Array(4000);
  let count = 0;
  for (let y = Math.max(0, region.minY); y <= region.maxY; y += 1) {
    for (let x = Math.max(0, region.minX); x <= region.maxX; x += 1) {
      if (lit[y * first.width + x] === 0) continue;
      const s = (x - apexPx.x) * mmPerPx.x;
      const d = (y - apexPx.y) * mmPerPx.y;
      const angle = Math.floor((Math.abs(Math.atan2(s, d)) * 1800) / Math.PI);
      const range = Math.floor(Math.hypot(s, d) * 4);
      if (angle < 900) byAngle[angle] = (byAngle[angle] as number) + 1;
      if (range < 4000) byRange[range] = (byRange[range] as number) + 1;
      count += 1;
    }
  }
  if (count < 2000) return unclear;
  const halfAngleDeg = (lastAbove(byAngle, 0.2) + 1) / 10;
  const rMaxMm = (lastAbove(byRange, 0.2) + 1) / 4;
  const rMinMm = firstAbove(byRange) / 4;
  if (!(halfAngleDeg > 5 && halfAngleDeg < 89 && rMaxMm > rMinMm + 20)) return unclear;
  return { apexPx, sector: { halfAngleDeg, rMinMm, rMaxMm } };
}

/** Last bin that holds at least this share of the fullest bin. */
function lastAbove(bins: Uint32Array, share: number): number {
  const least = share * Math.max(...bins);
  let at = bins.length - 1;
  while (at > 0 && (bins[at] as number) < least) at -= 1;
  return at;
}

/** First bin that is filled at all. */
function firstAbove(bins: Uint32Array): number {
  let at = 0;
  while (at < bins.length - 1 && bins[at] === 0) at += 1;
  return at;
}
