/**
 * Echoes of one plane along its beams, before the beams' own width: each ray is cut where the tissue changes and filled
 * with scatter that stays in place when the plane moves.
 *
 * - Scatterers stand fixed in space: a cell of the body has always the same one, so that neighbouring planes share
 *   speckle exactly as far as their slices overlap.
 * - A slice has thickness: several rays per beam lie off the plane by a spread that is least at the focus.
 * - Sound takes its own speed in each tissue; what is shown is time of flight at 1.54 mm/µs.
 * - A surface echoes by its step of impedance and falls off with the angle of incidence; grazing rays lose strength by
 *   refraction (edge shadow). Bone and gas end the ray; behind gas rings a dirty tail.
 *
 * Units     mm, dB; amplitudes about that of pelvic soft tissue without loss
 * Source    S-phantom-physics
 */
import type { PlanePose } from '@ebbline/imaging';
import type { Scene } from './scene.ts';
import { cellHash, normalImaginary, normalReal, patchNoise, tableShift } from './noise.ts';
import { rayWalker, type SliceShape } from './ray-walk.ts';
import { displaySpeedMmPerUs, type Tissue } from './tissues.ts';

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
  readonly slice: SliceShape;
  /** Strength of all surface echoes. */
  readonly surfaceDb: number;
  /** What of the enhancement behind fluid is missing, dB after 25 mm of fluid. */
  readonly dullBehindDb: number;
}

/** What the face and the uneven belly wall do to each beam of a plane. */
export interface FaceState {
  /** Loss of strength, dB. */
  readonly lossDb: Float32Array;
  /** By how much the beam is bent sideways, radians. */
  readonly bendRad: Float32Array;
}

/** Rays through the thickness of the slice. */
const raysPerBeam = 4;
/** Weaker than this is a fluid, dB about soft tissue. */
const fluidBelowDb = -30;
const perDecibel = Math.LN10 / 20;
/** Edges of the cells that hold one scatterer, mm: short in depth, longer across the planes of a sweep. */
const perCell = { x: 2, y: 1.1, z: 2.6 } as const;
/** Moves the body to positive numbers, so that cutting off the fraction rounds down. */
const cellShift = 4096;
/** Patches are drawn anew at this spacing along a ray. */
const patchMm = 2.8;

/**
 * All rays of one plane. `scatterSeed` names the body, so that all planes of a set share it.
 */
export function echoesOfPlane(
  scene: Scene,
  pose: PlanePose,
  grid: PolarGrid,
  settings: BeamSettings,
  face: FaceState,
  scatterSeed: number,
): PolarField {
  const { beams, samples, stepMm, rMinMm } = grid;
  const real = new Float32Array(beams * samples);
  const imaginary = new Float32Array(beams * samples);
  const share = 1 / Math.sqrt(raysPerBeam);
  const surfaceGain = share * 10 ** (settings.surfaceDb / 20);
  const lossPerMm = scene.tissues.map((tissue) => (2 * tissue.attenuation * settings.frequencyMHz) / 10);
  const isFluid = scene.tissues.map((tissue) => tissue.echoDb < fluidBelowDb);
  const depthMm = samples * stepMm;
  const ray = rayWalker(scene, pose, rMinMm, settings.slice);

  /** Fills a stretch of one tissue with scatter. */
  const fill = (
    beam: number,
    tissue: Tissue,
    fromMm: number,
    toMm: number,
    shownMm: number,
    lossDb: number,
    perMm: number,
    levelDb: number,
  ): void => {
    const perShown = tissue.speedMmPerUs / displaySpeedMmPerUs;
    const shownEnd = shownMm + (toMm - fromMm) / perShown;
    const first = Math.max(0, Math.ceil(shownMm / stepMm));
    const last = Math.min(samples - 1, Math.ceil(shownEnd / stepMm) - 1);
    if (first > last) return;
    const dx = ray.direction[0]!;
    const dy = ray.direction[1]!;
    const dz = ray.direction[2]!;
    const place = ray.place(0.5 * (fromMm + toMm));
    const start = fromMm + (first * stepMm - shownMm) * perShown;
    const middle = 0.5 * (fromMm + toMm);
    const step = stepMm * perShown;
    let x = (place[0]! + (start - middle) * dx + cellShift) * perCell.x;
    let y = (place[1]! + (start - middle) * dy + cellShift) * perCell.y;
    let z = (place[2]! + (start - middle) * dz + cellShift) * perCell.z;
    const stepX = step * dx * perCell.x;
    const stepY = step * dy * perCell.y;
    const stepZ = step * dz * perCell.z;
    const level = share * Math.exp(perDecibel * (levelDb - lossDb - perMm * (start - fromMm)));
    let amplitude = level;
    const fade = Math.exp(-perDecibel * perMm * step);
    for (let sample = first; sample <= last; sample += 1) {
      const cell = cellHash(x | 0, y | 0, z | 0, scatterSeed) >>> tableShift;
      const at = sample * beams + beam;
      real[at] = real[at]! + amplitude * normalReal[cell]!;
      imaginary[at] = imaginary[at]! + amplitude * normalImaginary[cell]!;
      amplitude *= fade;
      x += stepX;
      y += stepY;
      z += stepZ;
    }
  };

  for (let beam = 0; beam < beams; beam += 1) {
    const angle = -grid.halfAngleRad + (2 * grid.halfAngleRad * beam) / (beams - 1) + face.bendRad[beam]!;
    for (let part = 0; part < raysPerBeam; part += 1) {
      // Offsets across the slice: one in each quarter of a logistic spread, moved on from beam to beam.
      const rank = (part + ((beam * 0.618034 + part * 0.37) % 1) * 0.96 + 0.02) / raysPerBeam;
      const offset = Math.log(rank / (1 - rank)) / 1.7;
      const count = ray.walk(angle, offset, rMinMm + depthMm * 1.03);
      let shown = 0;
      let lossDb = face.lossDb[beam]!;
      let fluidMm = 0;
      for (let cut = 0; cut < count; cut += 1) {
        const from = ray.ranges[cut]!;
        const to = ray.ranges[cut + 1]!;
        const body = ray.bodies[cut]!;
        const tissue = scene.tissues[body]!;
        const perMm = lossPerMm[body]!;
        if (cut > 0) {
          const before = ray.bodies[cut - 1]!;
          const square = ray.squareOfIncidence(Math.min(before, body), from);
          const mirror = mirrorOf(scene.tissues[before]!, tissue, square);
          const sample = shown / stepMm;
          const whole = Math.floor(sample);
          if (whole + 1 >= samples) break;
          // No surface of the body is a clean mirror: its echo comes and goes along it.
          const place = ray.place(from);
          const patchDb = 7 * patchNoise(place[0]!, place[1]!, place[2]!, 8, scatterSeed + 2);
          const strength = surfaceGain * mirror * Math.exp(perDecibel * (patchDb - lossDb));
          const at = whole * beams + beam;
          real[at] = real[at]! + (whole + 1 - sample) * strength;
          real[at + beams] = real[at + beams]! + (sample - whole) * strength;
          if (tissue.opaque) {
            const level = share * mirror * Math.exp(-perDecibel * lossDb);
            addTail(
              real,
              imaginary,
              grid,
              beam,
              whole + 1,
              tissue.opaque,
              level,
              scatterSeed + part,
              settings,
            );
            break;
          }
          // Refraction at a fluid's side bends grazing rays away (edge shadow).
          if (square < 0.2 && isFluid[before] !== isFluid[body]) lossDb += 9 * (1 - square / 0.2);
        }
        if (isFluid[body]) fluidMm = Math.min(25, fluidMm + to - from);
        const base = tissue.echoDb - (isFluid[body] ? 0 : (settings.dullBehindDb * fluidMm) / 25);
        const pieceMm = tissue.patchDb > 0 ? patchMm : to - from;
        for (let start = from; start < to; start += pieceMm) {
          const end = Math.min(to, start + pieceMm);
          let levelDb = base;
          if (tissue.patchDb > 0) {
            const place = ray.place(start);
            const x = place[0]!;
            const y = place[1]!;
            const z = place[2]!;
            levelDb += tissue.patchDb * patchNoise(x, y, z, 11, scatterSeed);
            if (tissue.strandDb > 0) {
              // Strands are the thin sheets where a second noise crosses nought.
              const sheet = Math.abs(patchNoise(x, y, z, 17, scatterSeed + 1)) / 0.09;
              if (sheet < 1) levelDb += tissue.strandDb * (1 - sheet);
            }
          }
          fill(beam, tissue, start, end, shown, lossDb, perMm, levelDb);
          lossDb += perMm * (end - start);
          shown += ((end - start) * displaySpeedMmPerUs) / tissue.speedMmPerUs;
        }
        if (lossDb > 150 || shown > depthMm) break;
      }
    }
  }
  return { real, imaginary };
}

/**
 * Echo of a smooth surface about soft tissue's speckle: by the step of impedance, falling off with the angle. The step
 * counts less than in proportion, since bone and gas are rough and mirror less than their step would give (ours).
 */
function mirrorOf(one: Tissue, other: Tissue, squareOfIncidence: number): number {
  const step = Math.abs(other.impedance - one.impedance) / (other.impedance + one.impedance);
  return 4.2 * (step / 0.03) ** 0.55 * (Math.exp(-5.5 * (1 - squareOfIncidence)) + 0.05);
}

/** What shows behind bone (nearly nothing) and gas (a ringing, dirty shadow). */
function addTail(
  real: Float32Array,
  imaginary: Float32Array,
  grid: PolarGrid,
  beam: number,
  from: number,
  kind: 'bone' | 'gas',
  level: number,
  seed: number,
  settings: BeamSettings,
): void {
  const startDb = kind === 'gas' ? -14 : -34;
  // The ringing loses strength with each bounce, beside what the tissue takes.
  const perMmDb = (kind === 'gas' ? 0.22 : 0.5) + (2 * 0.5 * settings.frequencyMHz) / 10;
  const fade = Math.exp(-perDecibel * perMmDb * grid.stepMm);
  let amplitude = level * Math.exp(perDecibel * startDb);
  for (let sample = from; sample < grid.samples && amplitude > 1e-7; sample += 1) {
    const cell = cellHash(beam >> 1, sample, 77, seed) >>> tableShift;
    const at = sample * grid.beams + beam;
    real[at] = real[at]! + amplitude * normalReal[cell]!;
    imaginary[at] = imaginary[at]! + amplitude * normalImaginary[cell]!;
    amplitude *= fade;
  }
}
