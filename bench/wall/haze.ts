/**
 * Haze and other gain laid over a plane set of known outline, for fitting only: double bounces of the belly wall are its
 * own echoes folded with themselves along each beam, brighter in some beams than in others.
 *
 * Units     mm; grey 0 to 255 over 60 dB
 * Source    S-imaging-physics
 */
import { seededRandom } from '@ebbline/core/quantity';
import type { PlaneSet } from '@ebbline/imaging';
import type { Outlines } from './samples.ts';

const rangeDb = 60;
const stepMm = 0.5;
const beams = 100;

export function hazed(set: PlaneSet, outlines: Outlines, seed: number): PlaneSet {
  const random = seededRandom(seed);
  const { sector, apexPx, mmPerPx } = set.geometry;
  const half = (sector.halfAngleDeg * Math.PI) / 180;
  let nearMm = Infinity;
  for (const plane of outlines)
    for (const line of plane) for (const [sMm, dMm] of line) nearMm = Math.min(nearMm, Math.hypot(sMm, dMm));
  const wallMm = Math.max(12, Math.min(60, nearMm - sector.rMinMm)) * (0.8 + 0.4 * random.next());
  const levelDb = -16 + 16 * random.next();
  const withHaze = random.next() < 0.8;
  const gainDb = (random.next() - 0.5) * 10;
  const squash = 0.85 + 0.3 * random.next();
  const waves = [0, 1, 2].map((wave) => ({
    height: random.next(),
    pace: 1 + wave + (2 + 2 * wave) * random.next(),
    phase: 2 * Math.PI * random.next(),
  }));
  const middle = (random.next() - 0.5) * 0.8;
  const breadth = 0.35 + 0.5 * random.next();
  const acrossBeams = (share: number): number =>
    Math.exp(
      1.1 *
        waves.reduce((sum, { height, pace, phase }) => sum + height * Math.sin(3 * pace * share + phase), 0) -
        2.5 * Math.max(0, Math.abs(share - middle) - breadth),
    );
  const samples = Math.floor((sector.rMaxMm - sector.rMinMm) / stepMm);
  const wall = Math.min(samples, Math.floor(wallMm / stepMm));
  const skip = Math.floor(6 / stepMm);
  const planes = set.planes.map((plane) => {
    const amplitude = (x: number, y: number): number => {
      const column = Math.max(0, Math.min(plane.width - 1, Math.round(x)));
      const line = Math.max(0, Math.min(plane.height - 1, Math.round(y)));
      const grey = plane.grey[line * plane.width + column] as number;
      return 10 ** (((grey / 255) * rangeDb - rangeDb) / 20);
    };
    const echo = new Float64Array(beams * samples);
    const front: number[] = [];
    for (let beam = 0; beam < beams; beam += 1) {
      const angle = -half + ((beam + 0.5) * 2 * half) / beams;
      const own = new Float64Array(wall);
      for (let at = 0; at < wall; at += 1) {
        const r = sector.rMinMm + (at + 0.5) * stepMm;
        own[at] =
          at < skip
            ? 0.02
            : amplitude(
                apexPx.x + (r * Math.sin(angle)) / mmPerPx.x,
                apexPx.y + (r * Math.cos(angle)) / mmPerPx.y,
              );
        if (2 * at >= wall) front.push(own[at] as number);
      }
      // Signs that change from pair to pair stand for phases: bounces add and cancel.
      for (let one = 0; one < wall; one += 1)
        for (let other = 0; other < wall && one + other < samples; other += 1)
          echo[beam * samples + one + other] =
            (echo[beam * samples + one + other] as number) +
            (own[one] as number) * (own[other] as number) * (((one * 7 + other * 13 + beam * 3) % 5) - 2);
    }
    const smooth = new Float64Array(beams * samples);
    const inside: number[] = [];
    for (let beam = 0; beam < beams; beam += 1)
      for (let at = 0; at < samples; at += 1) {
        let sum = 0;
        let count = 0;
        for (let near = Math.max(0, beam - 2); near <= Math.min(beams - 1, beam + 2); near += 1) {
          sum += Math.abs(echo[near * samples + at] as number);
          count += 1;
        }
        smooth[beam * samples + at] = sum / count;
        if (at >= wall && at < wall + 16 && beam >= beams / 4 && beam < (3 * beams) / 4)
          inside.push(sum / count);
      }
    const median = (list: number[]): number => list.sort((a, b) => a - b)[list.length >> 1] ?? 1;
    const scale = withHaze ? (median(front) * 10 ** (levelDb / 20)) / median(inside) : 0;
    const grey = Uint8Array.from(plane.grey, (value, place) => {
      const s = ((place % plane.width) - apexPx.x) * mmPerPx.x;
      const d = (Math.floor(place / plane.width) - apexPx.y) * mmPerPx.y;
      const r = Math.hypot(s, d);
      const angle = Math.atan2(s, d);
      if (Math.abs(angle) > half || r < sector.rMinMm || r > sector.rMaxMm) return value;
      const beam = Math.max(0, Math.min(beams - 1, Math.floor(((angle + half) / (2 * half)) * beams)));
      const at = Math.max(0, Math.min(samples - 1, Math.floor((r - sector.rMinMm) / stepMm)));
      const added = scale * (smooth[beam * samples + at] as number) * acrossBeams(angle / half);
      const level = Math.hypot(10 ** (((value / 255) * rangeDb - rangeDb) / 20), added);
      return Math.max(
        0,
        Math.min(255, Math.round(255 + ((20 * Math.log10(level + 1e-9) + gainDb) * squash * 255) / rangeDb)),
      );
    });
    return { ...plane, grey };
  });
  return { ...set, planes };
}
