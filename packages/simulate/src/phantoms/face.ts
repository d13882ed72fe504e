import type { RandomSource } from '@ebbline/core/quantity';
import { between } from './draw.ts';
import type { FaceState } from './echoes.ts';

/**
 * What the face does to the beams of a plane: the belly wall is uneven everywhere, thick fat bends beams, and without gel
 * a stretch of beams is nearly lost.
 */
export function faceStates(
  poor: boolean,
  bendDeg: number,
  random: RandomSource,
): (beams: number, plane: RandomSource) => FaceState {
  const gaps = poor
    ? Array.from({ length: 1 + random.below(2) }, () => ({
        at: random.next() < 0.5 ? between(random, 0, 0.25) : between(random, 0.75, 1),
        half: between(random, 0.06, 0.15),
        lossDb: between(random, 18, 32),
      }))
    : [];
  return (beams, plane) => {
    const phases = Array.from({ length: 5 }, () => 6.3 * plane.next());
    const wave = (part: number, count: number, index: number): number =>
      Math.sin(2 * Math.PI * count * part + phases[index]!);
    const shift = 0.03 * plane.normal();
    const lossDb = new Float32Array(beams);
    const bendRad = new Float32Array(beams);
    for (let beam = 0; beam < beams; beam += 1) {
      const part = beam / (beams - 1);
      let loss = 1.3 + 0.5 * wave(part, 2, 0) + 0.4 * wave(part, 4.6, 1) + 0.4 * wave(part, 9.7, 2);
      for (const gap of gaps) {
        const away = Math.abs(part - gap.at - shift) / gap.half;
        loss += gap.lossDb / (1 + Math.exp(9 * (away - 1)));
      }
      lossDb[beam] = loss;
      bendRad[beam] = ((bendDeg * Math.PI) / 180) * (0.6 * wave(part, 0.9, 3) + 0.4 * wave(part, 2.3, 4));
    }
    return { lossDb, bendRad };
  };
}
