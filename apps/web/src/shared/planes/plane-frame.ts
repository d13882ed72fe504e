/**
 * Where a point of a plane stands in its picture.
 *
 * Frame     @ebbline/imaging plane-set: s lateral and d depth in mm; the centre of the top-left pixel is 0, 0
 * Units     mm, pixels as named
 */
import type { PlaneSetGeometry } from '@ebbline/imaging';

export type PlaneFrame = Pick<PlaneSetGeometry, 'mmPerPx' | 'apexPx' | 'sector'>;

/** A point on a plane, mm. */
export interface PlanePoint {
  readonly sMm: number;
  readonly dMm: number;
}

export interface PixelPoint {
  readonly x: number;
  readonly y: number;
}

export const toPixel = (frame: PlaneFrame, point: PlanePoint): PixelPoint => ({
  x: frame.apexPx.x + point.sMm / frame.mmPerPx.x,
  y: frame.apexPx.y + point.dMm / frame.mmPerPx.y,
});

export const toPlane = (frame: PlaneFrame, pixel: PixelPoint): PlanePoint => ({
  sMm: (pixel.x - frame.apexPx.x) * frame.mmPerPx.x,
  dMm: (pixel.y - frame.apexPx.y) * frame.mmPerPx.y,
});

/** How far a point lies outside the sector of the beams, mm; negative inside. */
export function outsideSectorMm(frame: PlaneFrame, { sMm, dMm }: PlanePoint): number {
  const { halfAngleDeg, rMinMm, rMaxMm } = frame.sector;
  const rangeMm = Math.hypot(sMm, dMm);
  const beyondEdge = Math.abs(Math.atan2(sMm, dMm)) - (halfAngleDeg * Math.PI) / 180;
  const besideMm = beyondEdge >= Math.PI / 2 ? rangeMm : rangeMm * Math.sin(beyondEdge);
  return Math.max(besideMm, rangeMm - rMaxMm, rMinMm - rangeMm);
}
