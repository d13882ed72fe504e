/**
 * Fluid that the planes of a phantom show and that is neither urine nor blood: by plane, the largest space of it in one
 * piece, what lies behind bone or gas left out.
 *
 * Frame     s, d in mm on the plane; sampled every 2 mm inside the sector
 * Units     mm²
 */
import type { Arranged } from '../phantoms/phantom.ts';
import { tissues } from '../phantoms/tissues.ts';

export interface OtherFluid {
  readonly plane: number;
  readonly areaMm2: number;
}

const stepMm = 2;

/** The largest space on each plane that shows any, the largest first. */
export function otherFluidOf({ geometry, truePoses, scene }: Arranged): readonly OtherFluid[] {
  const { halfAngleDeg, rMinMm, rMaxMm } = geometry.sector;
  const half = (halfAngleDeg * Math.PI) / 180;
  const across = Math.ceil((rMaxMm * Math.sin(half)) / stepMm);
  const columns = 2 * across + 1;
  const rows = Math.ceil(rMaxMm / stepMm) + 1;
  const found: OtherFluid[] = [];
  for (const [plane, { originMm, lateral, axial }] of truePoses.entries()) {
    const tissueAt = (s: number, d: number) => {
      const at = (axis: 0 | 1 | 2): number => originMm[axis] + s * lateral[axis] + d * axial[axis];
      return scene.tissues[scene.at(at(0), at(1), at(2))];
    };
    const isShaded = (s: number, d: number): boolean => {
      const range = Math.hypot(s, d);
      for (let r = rMinMm; r < range; r += stepMm)
        if (tissueAt((s * r) / range, (d * r) / range)?.opaque !== undefined) return true;
      return false;
    };
    const cells = new Uint8Array(columns * rows);
    for (let row = 0; row < rows; row += 1) {
      for (let column = 0; column < columns; column += 1) {
        const [s, d] = [(column - across) * stepMm, row * stepMm];
        const range = Math.hypot(s, d);
        if (range < rMinMm || range > rMaxMm || Math.abs(Math.atan2(s, d)) > half) continue;
        if (tissueAt(s, d) === tissues.fluid && !isShaded(s, d)) cells[row * columns + column] = 1;
      }
    }
    const largest = largestPiece(cells, columns);
    if (largest > 0) found.push({ plane, areaMm2: largest * stepMm * stepMm });
  }
  return found.toSorted((a, b) => b.areaMm2 - a.areaMm2);
}

/** Number of cells of the largest piece of ones that touch each other. The cells are used up. */
function largestPiece(cells: Uint8Array, columns: number): number {
  let most = 0;
  for (let start = 0; start < cells.length; start += 1) {
    if (cells[start] !== 1) continue;
    const open = [start];
    cells[start] = 0;
    let count = 0;
    for (let cell = open.pop(); cell !== undefined; cell = open.pop()) {
      count += 1;
      for (const next of [cell - 1, cell + 1, cell - columns, cell + columns]) {
        if (cells[next] !== 1) continue;
        cells[next] = 0;
        open.push(next);
      }
    }
    most = Math.max(most, count);
  }
  return most;
}
