/**
 * Echoes of one plane along its beams, before the beams' own width: each ray is walked through the scene, cut where the
 * tissue changes, and filled with scatter that stays in place when the plane moves.
 *
 * - Scatterers stand fixed in space: a cell of the body has always the same one, so that neighbouring planes share
 *   speckle exactly as far as their slices overlap.
 * - A slice has thickness: several rays per beam lie off the plane by a spread that is least at the focus.
 * - Sound takes its own speed in each tissue; what is shown is time of flight at 1.54 mm/µs.
 * - A surface echoes by its step of impedance and falls off with the angle of incidence; grazing rays lose strength by
 *   refraction (edge shadow). Bone and gas end the ray; behind gas rings a dirty tail.
 *
 * Units     mm, dB, degrees; amplitudes about that of pelvic soft tissue without loss
 * Source    S-phantom-physics
 */
import { seededRandom } from '@ebbline/core/quantity';
import type { PlanePose } from '@ebbline/imaging';
import type { Scene } from './anatomy.ts';
import { crossProduct } from './layout.ts';
import { displaySpeedMmPerUs } from './tissues.ts';

/** Beams and samples of the polar grid. */
export interface PolarGrid {
  readonly beams: number;
  readonly samples: number;
  readonly halfAngleRad: number;
  readonly rMinMm: number;
  readonly stepMm: number;
}

/** Complex echoes, sample by sample, beams side by side: index = sample · beams + beam. */
export interface PolarField {
  readonly real: Float32Array;
  readonly imaginary: Float32Array;
}

export interface BeamSettings {
  readonly frequencyMHz: number;
  /** Depth at which the slice is thinnest. */
  readonly sliceFocusMm: number;
  /** Spread (1 SD) of the slice at its focus. */
  readonly sliceSpreadMm: number;
  /** How fast the slice widens away from its focus, mm per mm. */
  readonly sliceWidening: number;
  /** Strength of all surface echoes. */
  readonly surfaceDb: number;
  /** Extra loss of the tissue behind fluid against enhancement, dB. */
  readonly dullBehindDb: number;
}

/** Rays through the thickness of the slice. */
const raysPerBeam = 4;
const walkMm = 1.3;

/** Complex normal numbers that cells of the body pick from. */
const tableBits = 15;
const tableSize = 1 << tableBits;
const scatterReal = new Float32Array(tableSize);
const scatterImaginary = new Float32Array(tableSize);
{
  const random = seededRandom(0x5eed);
  for (let index = 0; index < tableSize; index += 1) {
    scatterReal[index] = random.normal() * Math.SQRT1_2;
    scatterImaginary[index] = random.normal() * Math.SQRT1_2;
  }
}

/** A well-mixed number of a cell of the body. */
function cellHash(x: number, y: number, z: number, seed: number): number {
  let mixed = Math.imul(x, 0x27d4eb2f) ^ Math.imul(y, 0x165667b1) ^ Math.imul(z, 0x9e3779b1) ^ seed;
  mixed = Math.imul(mixed ^ (mixed >>> 15), 0x2c1b3c6d);
  mixed = Math.imul(mixed ^ (mixed >>> 12), 0x297a2d39);
  return (mixed ^ (mixed >>> 15)) >>> 0;
}

/** Smooth noise between −1 and 1, about 9 mm from crest to crest. */
function patchNoise(x: number, y: number, z: number, seed: number): number {
  const u = x * 0.16 + 512;
  const v = y * 0.16 + 512;
  const w = z * 0.22 + 512;
  const i = Math.floor(u);
  const j = Math.floor(v);
  const k = Math.floor(w);
  const smooth = (t: number): number => t * t * (3 - 2 * t);
  const a = smooth(u - i);
  const b = smooth(v - j);
  const c = smooth(w - k);
  let sum = 0;
  for (let corner = 0; corner < 8; corner += 1) {
    const right = corner & 1;
    const up = (corner >> 1) & 1;
    const deep = corner >> 2;
    const weight = (right ? a : 1 - a) * (up ? b : 1 - b) * (deep ? c : 1 - c);
    sum += weight * (cellHash(i + right, j + up, k + deep, seed) / 2147483648 - 1);
  }
  return sum;
}

const perDecibel = Math.LN10 / 20;

/**
 * Walks all rays of one plane. `beamLossDb` is what each beam loses at the face (contact, uneven belly wall);
 * `scatterSeed` names the body, so that all planes of a set share it.
 */
export function echoesOfPlane(
  scene: Scene,
  pose: PlanePose,
  grid: PolarGrid,
  settings: BeamSettings,
  beamLossDb: Float32Array,
  scatterSeed: number,
): PolarField {
  const { beams, samples, stepMm, rMinMm } = grid;
  const real = new Float32Array(beams * samples);
  const imaginary = new Float32Array(beams * samples);
  const normal = crossProduct(pose.lateral, pose.axial);
  const [ox, oy, oz] = pose.originMm;
  const rEnd = rMinMm + samples * stepMm;
  const share = 1 / Math.sqrt(raysPerBeam);
  const surfaceGain = 10 ** (settings.surfaceDb / 20);
  const lossOf = scene.tissues.map((tissue) => (2 * tissue.attenuation * settings.frequencyMHz) / 10);
  const levelOf = scene.tissues.map((tissue) => 10 ** (tissue.echoDb / 20));
  const fluidLevel = 10 ** (-30 / 20);

  for (let beam = 0; beam < beams; beam += 1) {
    const angle = -grid.halfAngleRad + (2 * grid.halfAngleRad * beam) / (beams - 1);
    const sin = Math.sin(angle);
    const cos = Math.cos(angle);
    const ux = sin * pose.lateral[0] + cos * pose.axial[0];
    const uy = sin * pose.lateral[1] + cos * pose.axial[1];
    const uz = sin * pose.lateral[2] + cos * pose.axial[2];
    const faceLoss = beamLossDb[beam]!;
    for (let ray = 0; ray < raysPerBeam; ray += 1) {
      // Offsets across the slice: one in each quarter of a logistic spread, moved on from beam to beam.
      const rank = (ray + ((beam * 0.618034 + ray * 0.37) % 1) * 0.96 + 0.02) / raysPerBeam;
      const offset = Math.log(rank / (1 - rank)) / 1.7;
      let r = rMinMm + 0.01;
      let shown = 0;
      let lossDb = faceLoss;
      let behindFluid = 0;
      const spreadAt = (range: number): number =>
        offset * Math.hypot(settings.sliceSpreadMm, settings.sliceWidening * (range - settings.sliceFocusMm));
      let spread = spreadAt(r);
      let body = scene.at(
        ox + r * ux + spread * normal[0],
        oy + r * uy + spread * normal[1],
        oz + r * uz + spread * normal[2],
      );
      const bodyAt = (range: number): number => {
        const off = spreadAt(range);
        return scene.at(
          ox + range * ux + off * normal[0],
          oy + range * uy + off * normal[1],
          oz + range * uz + off * normal[2],
        );
      };
      while (rMinMm + shown < rEnd) {
        let to = r + walkMm;
        const next = bodyAt(to);
        if (next !== body) {
          let near = r;
          for (let round = 0; round < 5; round += 1) {
            const half = 0.5 * (near + to);
            if (bodyAt(half) === body) near = half;
            else to = half;
          }
        }
        const tissue = scene.tissues[body]!;
        const stretch = displaySpeedMmPerUs / tissue.speedMmPerUs;
        spread = spreadAt(0.5 * (r + to));
        const px = ox + spread * normal[0];
        const py = oy + spread * normal[1];
        const pz = oz + spread * normal[2];
        let level = levelOf[body]!;
        if (level > fluidLevel) {
          if (tissue.patchDb > 0) {
            const patch = patchNoise(px + r * ux, py + r * uy, pz + r * uz, scatterSeed);
            level *= Math.exp(perDecibel * 1.6 * tissue.patchDb * patch);
          }
          // A dull far side: what fluid spared is taken back over the first centimetres behind it.
          if (behindFluid > 0) level *= 10 ** ((-settings.dullBehindDb * Math.min(1, behindFluid / 25)) / 20);
        } else behindFluid = Math.min(40, behindFluid + to - r);
        const lossPerMm = lossOf[body]!;
        const endShown = shown + (to - r) * stretch;
        const firstSample = Math.max(0, Math.ceil(shown / stepMm));
        const lastSample = Math.min(samples - 1, Math.ceil(endShown / stepMm) - 1);
        for (let sample = firstSample; sample <= lastSample; sample += 1) {
          const range = r + (sample * stepMm - shown) / stretch;
          const cell =
            cellHash(
              Math.floor((px + range * ux) * 2),
              Math.floor((py + range * uy) * 1.1),
              Math.floor((pz + range * uz) * 2.6),
              scatterSeed,
            ) >>>
            (32 - tableBits);
          const amplitude = level * share * Math.exp(-perDecibel * (lossDb + lossPerMm * (range - r)));
          const at = sample * beams + beam;
          real[at] = real[at]! + amplitude * scatterReal[cell]!;
          imaginary[at] = imaginary[at]! + amplitude * scatterImaginary[cell]!;
        }
        lossDb += lossPerMm * (to - r);
        shown = endShown;
        r = to;
        if (lossDb > 150) break;
        const beyond = next === body ? body : bodyAt(to);
        if (beyond === body) continue;
        const other = scene.tissues[beyond]!;
        const x = ox + to * ux + spread * normal[0];
        const y = oy + to * uy + spread * normal[1];
        const z = oz + to * uz + spread * normal[2];
        const square = incidence(scene, Math.min(body, beyond), x, y, z, ux, uy, uz);
        const step = Math.abs(other.impedance - tissue.impedance) / (other.impedance + tissue.impedance);
        // Compressed, since rough surfaces of bone and gas give less of a mirror than their step would (ours).
        const mirror = 4.2 * (step / 0.03) ** 0.55 * (Math.exp(-5.5 * (1 - square)) + 0.05);
        const sample = shown / stepMm;
        const whole = Math.floor(sample);
        if (whole + 1 < samples) {
          const part = sample - whole;
          const roughness = cellHash(
            Math.floor(x / 2.5),
            Math.floor(y / 2.5),
            Math.floor(z / 2.5),
            scatterSeed,
          );
          const strength =
            surfaceGain *
            share *
            mirror *
            (0.65 + 0.7 * (roughness / 4294967296)) *
            Math.exp(-perDecibel * lossDb);
          const at = whole * beams + beam;
          real[at] = real[at]! + (1 - part) * strength;
          real[at + beams] = real[at + beams]! + part * strength;
        }
        if (other.opaque) {
          tailBehind(
            real,
            imaginary,
            grid,
            beam,
            Math.ceil(sample),
            other.opaque,
            lossDb,
            mirror * share,
            scatterSeed + ray,
            settings,
          );
          break;
        }
        // Refraction at a fluid's side bends grazing rays away (edge shadow).
        if (square < 0.2 && (level < fluidLevel || levelOf[beyond]! < fluidLevel))
          lossDb += 9 * (1 - square / 0.2);
        body = beyond;
      }
    }
  }
  return { real, imaginary };
}

/** Square of the cosine between a ray and the normal of the body's surface. */
function incidence(
  scene: Scene,
  body: number,
  x: number,
  y: number,
  z: number,
  ux: number,
  uy: number,
  uz: number,
): number {
  const field = scene.fields[body]!;
  const nudge = 0.4;
  const here = field(x, y, z);
  const gx = field(x + nudge, y, z) - here;
  const gy = field(x, y + nudge, z) - here;
  const gz = field(x, y, z + nudge) - here;
  const size = gx * gx + gy * gy + gz * gz;
  if (size === 0) return 0;
  const along = gx * ux + gy * uy + gz * uz;
  return Math.min(1, (along * along) / size);
}

/** What shows behind bone (nearly nothing) and gas (a ringing, dirty shadow). */
function tailBehind(
  real: Float32Array,
  imaginary: Float32Array,
  grid: PolarGrid,
  beam: number,
  from: number,
  kind: 'bone' | 'gas',
  lossDb: number,
  mirror: number,
  seed: number,
  settings: BeamSettings,
): void {
  const startDb = kind === 'gas' ? -14 : -34;
  // The ringing loses strength with each bounce, beside what the tissue takes.
  const perMmDb = (kind === 'gas' ? 0.22 : 0.5) + (2 * 0.5 * settings.frequencyMHz) / 10;
  for (let sample = Math.max(0, from); sample < grid.samples; sample += 1) {
    const behind = (sample - from) * grid.stepMm;
    const total = startDb - perMmDb * behind - lossDb;
    if (total < -150) return;
    const cell = cellHash(beam >> 1, sample, 77, seed) >>> (32 - tableBits);
    const amplitude = mirror * Math.exp(perDecibel * total);
    const at = sample * grid.beams + beam;
    real[at] = real[at]! + amplitude * scatterReal[cell]!;
    imaginary[at] = imaginary[at]! + amplitude * scatterImaginary[cell]!;
  }
}
