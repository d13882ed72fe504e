/**
 * What the rays walk through: bodies one before the other, with the tissue of each.
 *
 * Frame     x lateral, y towards the head, z depth from the apex of the beams; mm
 */
import { unevenness, type Layer } from './belly-wall.ts';
import type { Field } from './fields.ts';
import { tissues, type Tissue, type TissueName } from './tissues.ts';

export interface Body {
  readonly field: Field;
  readonly tissue: TissueName;
  /** A ball that holds the body; without it the body has no end. */
  readonly within?: { readonly centre: readonly [number, number, number]; readonly radiusMm: number };
}

export interface Scene {
  /** Number of the body at a point; lower numbers lie on top of higher ones. */
  readonly at: (x: number, y: number, z: number) => number;
  readonly fields: readonly Field[];
  readonly tissues: readonly Tissue[];
  /** Depth below the skin up to which the belly wall reaches, on the axis. */
  readonly bellyWallMm: number;
  /** Depths of the strong layers of the belly wall, for double bounces. */
  readonly layerDepthsMm: readonly number[];
  readonly opaque: readonly Body[];
  readonly balloon?: Field;
}

/**
 * Puts bodies before the belly wall's layers, and others behind them; what lies in none is pelvic tissue.
 */
export function assembleScene(
  front: readonly Body[],
  layers: readonly Layer[],
  back: readonly Body[],
  skinDepth: Field,
  wallMm: number,
  opaque: readonly Body[],
  balloon: Field | undefined,
): Scene {
  const fields: Field[] = [
    ...front.map((body) => body.field),
    ...layers.map(
      (layer) => (x: number, y: number, z: number) =>
        skinDepth(x, y, z) - layer.toMm - unevenness(layer, x, y),
    ),
    ...back.map((body) => body.field),
    () => -1,
  ];
  const kinds: Tissue[] = [
    ...front.map((body) => tissues[body.tissue]),
    ...layers.map((layer) => tissues[layer.tissue]),
    ...back.map((body) => tissues[body.tissue]),
    tissues.pelvic,
  ];
  const bounds = [...front, ...layers.map(() => undefined), ...back].map((body) => body?.within);
  const centreX = Float64Array.from(bounds, (one) => one?.centre[0] ?? 0);
  const centreY = Float64Array.from(bounds, (one) => one?.centre[1] ?? 0);
  const centreZ = Float64Array.from(bounds, (one) => one?.centre[2] ?? 0);
  const reachSquared = Float64Array.from(bounds, (one) => (one ? one.radiusMm * one.radiusMm : Infinity));
  const firstLayer = front.length;
  const firstBack = firstLayer + layers.length;
  const last = firstBack + back.length;
  const ends = Float64Array.from(layers, (layer) => layer.toMm);
  const waves = Float64Array.from(layers, (layer) => layer.tallMm);
  const deepest = ends[ends.length - 1]!;
  const among = (from: number, to: number, x: number, y: number, z: number): number => {
    for (let body = from; body < to; body += 1) {
      const dx = x - centreX[body]!;
      const dy = y - centreY[body]!;
      const dz = z - centreZ[body]!;
      if (dx * dx + dy * dy + dz * dz < reachSquared[body]! && fields[body]!(x, y, z) < 0) return body;
    }
    return to;
  };
  return {
    at: (x, y, z) => {
      const first = among(0, firstLayer, x, y, z);
      if (first < firstLayer) return first;
      const depth = skinDepth(x, y, z);
      if (depth >= deepest + 1) return among(firstBack, last, x, y, z);
      for (let layer = 0; layer < ends.length; layer += 1) {
        // The waves need working out only near the layer's end.
        const left = ends[layer]! - depth;
        if (left > waves[layer]! || (left > -waves[layer]! && left + unevenness(layers[layer]!, x, y) > 0))
          return firstLayer + layer;
      }
      return among(firstBack, last, x, y, z);
    },
    fields,
    tissues: kinds,
    bellyWallMm: wallMm,
    layerDepthsMm: layers.map((layer) => layer.toMm),
    opaque,
    ...(balloon ? { balloon } : {}),
  };
}
