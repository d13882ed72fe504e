/**
 * Volume of a closed shape by columns: on a square grid of columns each stretch inside is found to a thousandth of a
 * cell, so that only the cells that the silhouette cuts carry an error.
 *
 * Units     in mm; out mL
 * Error     ≤ 0.1 % from 60 columns across, against sphere, egg and cut sphere (field-volume.test.ts)
 * Source    S-phantom-shapes
 */
import type { Field } from './fields.ts';

export interface Box {
  readonly low: readonly [number, number, number];
  readonly high: readonly [number, number, number];
}

/** A box that holds the shape, with a margin; the shape lies within `reachMm` of the origin. */
export function boundsOf(field: Field, reachMm: number): Box {
  const steps = 36;
  const cell = (2 * reachMm) / steps;
  const low = [Infinity, Infinity, Infinity];
  const high = [-Infinity, -Infinity, -Infinity];
  for (let i = 0; i <= steps; i += 1) {
    const x = -reachMm + i * cell;
    for (let j = 0; j <= steps; j += 1) {
      const y = -reachMm + j * cell;
      for (let k = 0; k <= steps; k += 1) {
        const z = -reachMm + k * cell;
        if (field(x, y, z) >= 0) continue;
        const point = [x, y, z];
        for (let axis = 0; axis < 3; axis += 1) {
          low[axis] = Math.min(low[axis]!, point[axis]!);
          high[axis] = Math.max(high[axis]!, point[axis]!);
        }
      }
    }
  }
  return {
    low: [low[0]! - cell, low[1]! - cell, low[2]! - cell],
    high: [high[0]! + cell, high[1]! + cell, high[2]! + cell],
  };
}

/**
 * Visits the inside column by column: `visit(x, y, fromZ, toZ)` for each stretch inside.
 * Returns the area of a column in mm².
 */
export function columnsInside(
  field: Field,
  box: Box,
  across: number,
  visit: (x: number, y: number, fromZ: number, toZ: number) => void,
): number {
  const [x0, y0, z0] = box.low;
  const [x1, y1, z1] = box.high;
  const cell = Math.max(x1 - x0, y1 - y0) / across;
  const step = Math.max(cell, (z1 - z0) / across);
  const crossing = (x: number, y: number, outside: number, inside: number): number => {
    let out = outside;
    let within = inside;
    for (let round = 0; round < 10; round += 1) {
      const middle = 0.5 * (out + within);
      if (field(x, y, middle) < 0) within = middle;
      else out = middle;
    }
    return 0.5 * (out + within);
  };
  for (let x = x0 + 0.5 * cell; x < x1; x += cell) {
    for (let y = y0 + 0.5 * cell; y < y1; y += cell) {
      let from = 0;
      let inside = false;
      let z = z0;
      while (z < z1 + step) {
        const value = field(x, y, z);
        if (value < 0 !== inside) {
          if (inside) visit(x, y, from, crossing(x, y, z, z - step));
          else from = crossing(x, y, z - step, z);
          inside = !inside;
        }
        z += step;
      }
    }
  }
  return cell * cell;
}

/** Volume in mL. */
export function volumeOfField(field: Field, box: Box, across: number): number {
  let length = 0;
  const area = columnsInside(field, box, across, (_x, _y, from, to) => {
    length += to - from;
  });
  return (length * area) / 1000;
}
