/**
 * From received echoes to a grey picture: logarithm, dynamic range, a little smoothing, and from beams to pixels.
 *
 * Source    S-phantom-physics
 */
import type { GreyPlane, PlaneSetGeometry } from '@ebbline/imaging';
import type { PolarField, PolarGrid } from './echoes.ts';
import { pictureHeightPx } from './layout.ts';

export interface DisplaySettings {
  readonly gainDb: number;
  readonly dynamicRangeDb: number;
  /** Level shown white, about soft tissue at the usual gain. */
  readonly whiteDb: number;
  /** Rounds of light smoothing of the envelope, as persistence and compounding give. */
  readonly smoothing: number;
}

/** For each pixel of the sector: its place in the polar grid. The same for all planes of a set. */
export interface PixelMap {
  readonly width: number;
  readonly height: number;
  /** Upper left corner of the four polar samples; −1 outside the sector. */
  readonly corner: Int32Array;
  readonly beamPart: Float32Array;
  readonly samplePart: Float32Array;
}

export function pixelMap(geometry: PlaneSetGeometry, widthPx: number, grid: PolarGrid): PixelMap {
  const width = widthPx;
  const height = pictureHeightPx(geometry);
  const corner = new Int32Array(width * height).fill(-1);
  const beamPart = new Float32Array(width * height);
  const samplePart = new Float32Array(width * height);
  const { rMinMm, rMaxMm } = geometry.sector;
  const perBeam = (grid.beams - 1) / (2 * grid.halfAngleRad);
  for (let row = 0; row < height; row += 1) {
    const d = (row - geometry.apexPx.y) * geometry.mmPerPx.y;
    for (let column = 0; column < width; column += 1) {
      const s = (column - geometry.apexPx.x) * geometry.mmPerPx.x;
      const r = Math.sqrt(s * s + d * d);
      if (d <= 0 || r < rMinMm || r > rMaxMm) continue;
      const beam = (Math.atan2(s, d) + grid.halfAngleRad) * perBeam;
      const sample = (r - rMinMm) / grid.stepMm;
      if (beam < 0 || beam > grid.beams - 1 || sample > grid.samples - 1) continue;
      const wholeBeam = Math.min(grid.beams - 2, Math.floor(beam));
      const wholeSample = Math.min(grid.samples - 2, Math.floor(sample));
      const at = row * width + column;
      corner[at] = wholeSample * grid.beams + wholeBeam;
      beamPart[at] = beam - wholeBeam;
      samplePart[at] = sample - wholeSample;
    }
  }
  return { width, height, corner, beamPart, samplePart };
}

/** The picture of a plane. Pixels outside the sector are 0. */
export function greyPicture(
  field: PolarField,
  grid: PolarGrid,
  map: PixelMap,
  settings: DisplaySettings,
): GreyPlane {
  const size = grid.beams * grid.samples;
  const level = new Float32Array(size);
  for (let at = 0; at < size; at += 1) {
    const re = field.real[at]!;
    const im = field.imaginary[at]!;
    level[at] = re * re + im * im;
  }
  for (let round = 0; round < settings.smoothing; round += 1) smoothAlongArc(level, grid);
  const black = settings.whiteDb - settings.dynamicRangeDb - settings.gainDb;
  const perDb = 255 / settings.dynamicRangeDb;
  for (let at = 0; at < size; at += 1)
    level[at] = (4.342944819 * Math.log(level[at]! + 1e-12) - black) * perDb;
  const grey = new Uint8Array(map.width * map.height);
  const { corner, beamPart, samplePart } = map;
  const { beams } = grid;
  for (let at = 0; at < grey.length; at += 1) {
    const from = corner[at]!;
    if (from < 0) continue;
    const a = beamPart[at]!;
    const b = samplePart[at]!;
    const upper = level[from]! + a * (level[from + 1]! - level[from]!);
    const lower = level[from + beams]! + a * (level[from + beams + 1]! - level[from + beams]!);
    const value = upper + b * (lower - upper);
    grey[at] = value <= 0 ? 0 : value >= 255 ? 255 : Math.round(value);
  }
  return { width: map.width, height: map.height, grey };
}

function smoothAlongArc(level: Float32Array, grid: PolarGrid): void {
  const { beams, samples } = grid;
  for (let sample = 0; sample < samples; sample += 1) {
    const row = sample * beams;
    let before = level[row]!;
    for (let beam = 1; beam < beams - 1; beam += 1) {
      const here = level[row + beam]!;
      level[row + beam] = 0.25 * before + 0.5 * here + 0.25 * level[row + beam + 1]!;
      before = here;
    }
  }
}
