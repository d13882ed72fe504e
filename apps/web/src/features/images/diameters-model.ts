/**
 * Three diameters measured on pictures, as a reading: the volume by the chosen coefficient, which stays with it.
 *
 * Units     pixels in, mm and mL out
 * Errors    those of core/geometry; images/diameter-not-measured
 */
import { caliperVolume, coefficientById, publishedCoefficients } from '@ebbline/core/geometry';
import { isRefusal, refuse, type Refusal } from '@ebbline/core/quantity';
import type { PayloadOf } from '@ebbline/core/record';
import type { PlaneSetGeometry } from '@ebbline/imaging';
import type { PixelPoint } from '../../shared/planes/plane-frame.ts';

export const diameterNames = ['width', 'height', 'depth'] as const;
export type DiameterName = (typeof diameterNames)[number];
export const diameterWords: Readonly<Record<DiameterName, string>> = {
  width: 'Width, across',
  height: 'Height, head to foot',
  depth: 'Depth, front to back',
};

export interface Measured {
  readonly plane: number;
  readonly from: PixelPoint;
  readonly to: PixelPoint;
}
export type Diameters = Readonly<Partial<Record<DiameterName, Measured>>>;

export const coefficientWords: readonly (readonly [string, string])[] = publishedCoefficients
  .filter((one) => one.grade === 'verified')
  .map((one) => [
    one.id,
    `${one.coefficient.toFixed(3).replace(/0+$/, '')}: ${one.shape === undefined ? '' : `${one.shape.replace('-', ' ')}, `}${one.population}`,
  ]);

export const lengthMm = ({ from, to }: Measured, mmPerPx: PlaneSetGeometry['mmPerPx']): number =>
  Math.hypot((to.x - from.x) * mmPerPx.x, (to.y - from.y) * mmPerPx.y);

const toTenth = (mm: number): number => Math.round(10 * mm) / 10;

export function diametersReading(
  diameters: Diameters,
  mmPerPx: PlaneSetGeometry['mmPerPx'],
  scaleFrom: 'file' | 'hand',
  coefficientId: string,
  how: { readonly relation: PayloadOf<'reading'>['relation']; readonly operator: string },
): PayloadOf<'reading'> | Refusal {
  const missing = diameterNames.find((name) => !diameters[name]);
  const { width, height, depth } = diameters;
  if (missing !== undefined || !width || !height || !depth)
    return refuse('images/diameter-not-measured', {
      asked: 'Volume from three diameters',
      found: `no ${missing ?? 'diameter'}`,
      allowed: 'width, height and depth, each between two points on the inner wall',
      todo: `Measure the ${missing ?? 'diameter'}.`,
    });
  const chosen = coefficientById(coefficientId);
  if (isRefusal(chosen)) return { ...chosen, todo: 'Choose the coefficient of this unit.' };
  const inMm = {
    widthMm: toTenth(lengthMm(width, mmPerPx)),
    heightMm: toTenth(lengthMm(height, mmPerPx)),
    depthMm: toTenth(lengthMm(depth, mmPerPx)),
  };
  const volume = caliperVolume(inMm, chosen);
  if (isRefusal(volume)) return volume;
  return {
    ...how,
    result: 'exact',
    volumeMl: Math.round(volume.volumeMl),
    doubts: [],
    method: 'calipers',
    coefficient: chosen.coefficient,
    coefficientSource: chosen.coefficientSource,
    ...inMm,
    source: 'images',
    evidence: {
      layout: 'three_diameters',
      layoutFrom: 'hand',
      scaleFrom,
      mmPerPxX: mmPerPx.x,
      mmPerPxY: mmPerPx.y,
      positions: [],
      drawnBy: 'person',
      reasons: [],
    },
  };
}
