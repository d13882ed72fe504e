/**
 * What a phantom truly holds: volume, the part that the set sweeps, the part of that in no shadow.
 *
 * Units     mm, mL
 */
import type { PlaneSetGeometry } from '@ebbline/imaging';
import type { Scene } from './scene.ts';
import { columnsInside, type Box } from './field-volume.ts';
import type { Field } from './fields.ts';
import { sweptBy } from './layout.ts';
import type { Outline } from './outlines.ts';
import type { PhantomFeature } from './recipe.ts';

export interface PhantomTruth {
  readonly bladderPresent: boolean;
  /** Inside of the inner wall, with a catheter's balloon if there is one. */
  readonly volumeMl: number;
  /** Part of it inside what the planes sweep, by the stated geometry. */
  readonly inPictureMl: number;
  /** Part of that with neither bone nor gas between it and the probe. */
  readonly unshadowedMl: number;
  readonly balloonMl: number;
  /** By plane: closed outlines [s, d] of the inside, where the plane really was; not clipped to the sector. */
  readonly outlines: readonly (readonly Outline[])[];
  readonly features: readonly PhantomFeature[];
}

export interface TrueVolumes {
  readonly volumeMl: number;
  readonly inPictureMl: number;
  readonly unshadowedMl: number;
  readonly balloonMl: number;
  readonly behindBoneMl: number;
  readonly behindGasMl: number;
  readonly belowPictureMl: number;
  /** Before the first plane of a sweep or behind its last. */
  readonly beyondSweepMl: number;
}

/** Columns across the box: 0.1 % against closed forms. */
const across = 84;

export function trueVolumes(lumen: Field, box: Box, scene: Scene, geometry: PlaneSetGeometry): TrueVolumes {
  const swept = sweptBy(geometry);
  const hidden = shadowMap(scene, box, geometry);
  const cell = Math.max(box.high[0] - box.low[0], box.high[1] - box.low[1]) / across;
  let whole = 0;
  let beside = 0;
  let bone = 0;
  let gas = 0;
  let below = 0;
  let beyond = 0;
  let balloon = 0;
  const area = columnsInside(lumen, box, across, (x, y, from, to) => {
    whole += to - from;
    const pieces = Math.max(1, Math.ceil((to - from) / cell));
    const length = (to - from) / pieces;
    for (let piece = 0; piece < pieces; piece += 1) {
      const z = from + (piece + 0.5) * length;
      if (scene.balloon && scene.balloon(x, y, z) < 0) balloon += length;
      const where = swept(x, y, z);
      if (where !== 'inside') {
        if (where === 'below') below += length;
        else if (where === 'beyond') beyond += length;
        else beside += length;
        continue;
      }
      const by = hidden(x, y, z);
      if (by === 'bone') bone += length;
      else if (by === 'gas') gas += length;
    }
  });
  const millilitres = area / 1000;
  return {
    volumeMl: whole * millilitres,
    // Taken off one by one, so that rounding never makes a part larger than the whole.
    inPictureMl: Math.max(0, (whole - beside - below - beyond) * millilitres),
    unshadowedMl: Math.max(0, (whole - beside - below - beyond - bone - gas) * millilitres),
    balloonMl: balloon * millilitres,
    behindBoneMl: bone * millilitres,
    behindGasMl: gas * millilitres,
    belowPictureMl: below * millilitres,
    beyondSweepMl: beyond * millilitres,
  };
}

/** What lies between the probe and a point of the box: bone, gas or neither. Beams half a degree apart. */
function shadowMap(
  scene: Scene,
  box: Box,
  geometry: PlaneSetGeometry,
): (x: number, y: number, z: number) => 'bone' | 'gas' | undefined {
  const flat = geometry.layout === 'parallel_sweep';
  const nearest = Math.max(1, box.low[2]);
  const across = Math.tan(Math.PI / 360);
  // Beams by slope x/z and slope y/z, or by slope and the plane's own y when the planes lie side by side.
  const slopes = (low: number, high: number): [number, number] => [
    Math.min(low / nearest, low / box.high[2]),
    Math.max(high / nearest, high / box.high[2]),
  ];
  const [u0, u1] = slopes(box.low[0], box.high[0]);
  const [v0, v1] = flat ? [box.low[1], box.high[1]] : slopes(box.low[1], box.high[1]);
  const vStep = flat ? 0.8 : across;
  const columns = Math.ceil((u1 - u0) / across) + 1;
  const rows = Math.ceil((v1 - v0) / vStep) + 1;
  const depth = new Float32Array(columns * rows).fill(Infinity);
  const kind = new Uint8Array(columns * rows);
  for (const body of scene.opaque) {
    const ball = body.within;
    if (!ball) continue;
    for (let row = 0; row < rows; row += 1) {
      const v = v0 + row * vStep;
      for (let column = 0; column < columns; column += 1) {
        const u = u0 + column * across;
        const at = row * columns + column;
        const from = Math.max(geometry.sector.rMinMm * 0.5, ball.centre[2] - ball.radiusMm);
        const to = Math.min(box.high[2], ball.centre[2] + ball.radiusMm, depth[at]!);
        for (let z = from; z < to; z += 0.8) {
          const y = flat ? v : v * z;
          if (body.field(u * z, y, z) >= 0) continue;
          const found = scene.tissues[scene.at(u * z, y, z)]!.opaque;
          if (!found) continue;
          depth[at] = z;
          kind[at] = found === 'bone' ? 1 : 2;
          break;
        }
      }
    }
  }
  return (x, y, z) => {
    const column = Math.round((x / z - u0) / across);
    const row = Math.round(((flat ? y : y / z) - v0) / vStep);
    if (column < 0 || row < 0 || column >= columns || row >= rows) return undefined;
    const at = row * columns + column;
    return z > depth[at]! ? (kind[at] === 1 ? 'bone' : 'gas') : undefined;
  };
}

/** Names set from what is true; the others are kept as asked for. */
const measured: ReadonlySet<PhantomFeature> = new Set([
  'clear',
  'near-empty',
  'small',
  'large',
  'partly-outside-side',
  'partly-outside-sweep',
  'partly-outside-depth',
  'pubic-shadow',
  'gas-shadow',
] as const);

/** A part counts as hidden or outside from this share of the volume on (ours, S-phantom-mix). */
export const countsFrom = 0.02;

export function namedFeatures(
  asked: readonly PhantomFeature[],
  volumes: TrueVolumes,
  bladderPresent: boolean,
): PhantomFeature[] {
  const features = asked.filter((name) => !measured.has(name));
  if (!bladderPresent) return features;
  const { volumeMl, inPictureMl, belowPictureMl, beyondSweepMl } = volumes;
  if (volumeMl <= 15) features.push('near-empty');
  else if (volumeMl <= 60) features.push('small');
  else if (volumeMl >= 600) features.push('large');
  const share = (part: number): boolean => part >= countsFrom * volumeMl;
  if (share(volumeMl - inPictureMl - belowPictureMl - beyondSweepMl)) features.push('partly-outside-side');
  if (share(beyondSweepMl)) features.push('partly-outside-sweep');
  if (share(belowPictureMl)) features.push('partly-outside-depth');
  if (share(volumes.behindBoneMl)) features.push('pubic-shadow');
  if (share(volumes.behindGasMl)) features.push('gas-shadow');
  return features.length === 0 ? ['clear'] : features;
}
