/**
 * From echoes along rays to what a beam former gives: time gain, the pulse's length, the beam's width, side lobes, double
 * bounces of the belly wall, ringing at the face, noise.
 *
 * Source    S-phantom-physics
 */
import { seededRandom, type RandomSource } from '@ebbline/core/quantity';
import type { PolarField, PolarGrid } from './echoes.ts';
import { cellHash, normalImaginary, normalReal, tableShift } from './noise.ts';

export interface ReceiverSettings {
  readonly frequencyMHz: number;
  /** Slope of the time gain, dB/cm/MHz one way. */
  readonly timeGainSlope: number;
  readonly mostTimeGainDb: number;
  readonly focusMm: number;
  readonly apertureMm: number;
  readonly sideLobeDb: number;
  readonly gratingLobeDb: number;
  readonly noiseDb: number;
  /** Strength of double bounces about the echoes that make them. */
  readonly bounceDb: number;
  /** Level of diffuse clutter right under the belly wall, about tissue. */
  readonly clutterDb: number;
  readonly clutterLengthMm: number;
  readonly bellyWallMm: number;
  /** Extra ways of sound between the strong layers and the face. */
  readonly bounceDelaysMm: readonly number[];
}

/** Works in place on the echoes of a plane. */
export function receive(
  field: PolarField,
  grid: PolarGrid,
  settings: ReceiverSettings,
  beamLossDb: Float32Array,
  seed: number,
): void {
  const random = seededRandom(seed);
  applyTimeGain(field, grid, settings);
  addBounces(field, grid, settings, random);
  addClutter(field, grid, settings, beamLossDb, random);
  widen(field, grid, settings);
  addSideLobes(field, grid, settings);
  lengthen(field, grid, settings);
  addFaceRinging(field, grid, beamLossDb, random);
  addNoise(field, grid, settings, random);
}

const amplitudeOf = (decibels: number): number => 10 ** (decibels / 20);

function timeGainDb(settings: ReceiverSettings, depthMm: number): number {
  return Math.min(
    settings.mostTimeGainDb,
    (2 * settings.timeGainSlope * settings.frequencyMHz * depthMm) / 10,
  );
}

function applyTimeGain(field: PolarField, grid: PolarGrid, settings: ReceiverSettings): void {
  for (let sample = 0; sample < grid.samples; sample += 1) {
    const gain = amplitudeOf(timeGainDb(settings, sample * grid.stepMm));
    const row = sample * grid.beams;
    for (let at = row; at < row + grid.beams; at += 1) {
      field.real[at] = field.real[at]! * gain;
      field.imaginary[at] = field.imaginary[at]! * gain;
    }
  }
}

/** Echoes of the belly wall come again, later by the way between two layers, weaker and smeared sideways. */
function addBounces(
  field: PolarField,
  grid: PolarGrid,
  settings: ReceiverSettings,
  random: RandomSource,
): void {
  const { beams, samples, stepMm } = grid;
  const sourceEnd = Math.min(samples, Math.round((settings.bellyWallMm + 3) / stepMm));
  const length = sourceEnd * beams;
  const sourceReal = field.real.slice(0, length);
  const sourceImaginary = field.imaginary.slice(0, length);
  for (const delayMm of settings.bounceDelaysMm) {
    const delay = Math.max(8, Math.round(delayMm / stepMm));
    // Both ways are lossy; the time gain gives that back.
    const strength = amplitudeOf(settings.bounceDb - 0.16 * delayMm) * (0.6 + 0.8 * random.next());
    const turn = 2 * Math.PI * random.next();
    const cos = strength * Math.cos(turn);
    const sin = strength * Math.sin(turn);
    const aside = random.below(5) - 2;
    // The layers are not quite parallel, so that the way changes across the picture.
    const slant = (1.6 * (random.next() - 0.5)) / stepMm / beams;
    const wave = (1.1 * random.next()) / stepMm;
    const pace = 0.08 + 0.12 * random.next();
    const later = Int32Array.from({ length: beams }, (_, beam) =>
      Math.round(delay + slant * (beam - beams / 2) + wave * Math.sin(pace * beam + turn)),
    );
    for (let sample = 4; sample < sourceEnd && sample + delay + 6 < samples; sample += 1) {
      const from = sample * beams;
      for (let beam = 2; beam < beams - 2; beam += 1) {
        const at = from + beam + aside;
        const to = (sample + later[beam]!) * beams + beam;
        const re = sourceReal[at]!;
        const im = sourceImaginary[at]!;
        field.real[to] = field.real[to]! + cos * re - sin * im;
        field.imaginary[to] = field.imaginary[to]! + sin * re + cos * im;
      }
    }
  }
}

/** Diffuse clutter under the belly wall: it dies out with depth and comes in broad clouds. */
function addClutter(
  field: PolarField,
  grid: PolarGrid,
  settings: ReceiverSettings,
  beamLossDb: Float32Array,
  random: RandomSource,
): void {
  const { beams, samples, stepMm } = grid;
  const level = amplitudeOf(settings.clutterDb);
  const phase = 6 * random.next();
  const wave = 4 + 6 * random.next();
  const start = Math.round((0.6 * settings.bellyWallMm) / stepMm);
  const end = Math.min(samples, start + Math.round((4 * settings.clutterLengthMm) / stepMm));
  const cloud = Float32Array.from(
    { length: beams },
    (_, beam) =>
      (1 + 0.45 * Math.sin((beam / beams) * wave + phase) + 0.25 * Math.sin((beam / beams) * wave * 2.7)) *
      amplitudeOf(-0.5 * beamLossDb[beam]!),
  );
  const seed = random.below(2 ** 31);
  for (let sample = start; sample < end; sample += 1) {
    const depth = sample * stepMm - settings.bellyWallMm;
    const fade = level * Math.min(1, Math.exp(-depth / settings.clutterLengthMm));
    addWhite(field, sample, beams, seed, (beam) => fade * cloud[beam]!);
  }
}

/** Width of the main lobe: wavelength over aperture at the focus, wider before and behind it. */
function widen(field: PolarField, grid: PolarGrid, settings: ReceiverSettings): void {
  const { beams, samples } = grid;
  const wavelength = 1.54 / settings.frequencyMHz;
  const beamStep = (2 * grid.halfAngleRad) / (beams - 1);
  const lineReal = new Float32Array(beams);
  const lineImaginary = new Float32Array(beams);
  const weights = new Float32Array(13);
  for (let sample = 0; sample < samples; sample += 1) {
    const r = grid.rMinMm + sample * grid.stepMm;
    const depth = Math.max(2, sample * grid.stepMm);
    // The aperture grows with depth until all of it is used.
    const aperture = Math.min(settings.apertureMm, Math.max(4, depth / 1.8));
    const sharp = (1.1 * wavelength * depth) / aperture;
    const blurred = 0.09 * aperture * Math.abs(1 - depth / settings.focusMm);
    const spread = Math.min(5, Math.hypot(sharp, blurred) / 2.355 / (r * beamStep));
    if (spread < 0.25) continue;
    const reach = Math.min(12, Math.ceil(2.4 * spread));
    let energy = 0;
    for (let tap = 0; tap <= reach; tap += 1) {
      weights[tap] = Math.exp((-0.5 * tap * tap) / (spread * spread));
      energy += (tap === 0 ? 1 : 2) * weights[tap]! * weights[tap]!;
    }
    const scale = 1 / Math.sqrt(energy);
    const row = sample * beams;
    for (let beam = 0; beam < beams; beam += 1) {
      let re = weights[0]! * field.real[row + beam]!;
      let im = weights[0]! * field.imaginary[row + beam]!;
      for (let tap = 1; tap <= reach; tap += 1) {
        const left = beam - tap;
        const right = beam + tap;
        const weight = weights[tap]!;
        if (left >= 0) {
          re += weight * field.real[row + left]!;
          im += weight * field.imaginary[row + left]!;
        }
        if (right < beams) {
          re += weight * field.real[row + right]!;
          im += weight * field.imaginary[row + right]!;
        }
      }
      lineReal[beam] = scale * re;
      lineImaginary[beam] = scale * im;
    }
    field.real.set(lineReal, row);
    field.imaginary.set(lineImaginary, row);
  }
}

/** A pedestal of side lobes along the arc, and for steered arrays a faint copy one grating lobe away. */
function addSideLobes(field: PolarField, grid: PolarGrid, settings: ReceiverSettings): void {
  const { beams, samples } = grid;
  const strength = amplitudeOf(settings.sideLobeDb);
  const keep = 0.93;
  const grating = settings.gratingLobeDb > -90 ? amplitudeOf(settings.gratingLobeDb) : 0;
  const away = Math.round(beams * 0.42);
  const addReal = new Float32Array(beams);
  const addImaginary = new Float32Array(beams);
  for (let sample = 0; sample < samples; sample += 1) {
    const row = sample * beams;
    let re = 0;
    let im = 0;
    for (let beam = 0; beam < beams; beam += 1) {
      addReal[beam] = re;
      addImaginary[beam] = im;
      re = keep * re + field.real[row + beam]!;
      im = keep * im + field.imaginary[row + beam]!;
    }
    re = 0;
    im = 0;
    for (let beam = beams - 1; beam >= 0; beam -= 1) {
      addReal[beam] = addReal[beam]! + re;
      addImaginary[beam] = addImaginary[beam]! + im;
      re = keep * re + field.real[row + beam]!;
      im = keep * im + field.imaginary[row + beam]!;
    }
    if (grating > 0) {
      for (let beam = 0; beam < beams; beam += 1) {
        const from = beam < beams / 2 ? beam + away : beam - away;
        addReal[beam] = addReal[beam]! + (grating / strength) * field.real[row + from]!;
        addImaginary[beam] = addImaginary[beam]! + (grating / strength) * field.imaginary[row + from]!;
      }
    }
    for (let beam = 0; beam < beams; beam += 1) {
      field.real[row + beam] = field.real[row + beam]! + strength * addReal[beam]!;
      field.imaginary[row + beam] = field.imaginary[row + beam]! + strength * addImaginary[beam]!;
    }
  }
}

/** The pulse: a short rise and a longer fall. */
function lengthen(field: PolarField, grid: PolarGrid, settings: ReceiverSettings): void {
  const { beams, samples, stepMm } = grid;
  const riseMm = 1.0 / settings.frequencyMHz;
  const fallMm = 1.7 / settings.frequencyMHz;
  const before = Math.max(1, Math.ceil((2 * riseMm) / stepMm));
  const after = Math.max(1, Math.ceil((2 * fallMm) / stepMm));
  const taps: number[] = [];
  for (let tap = -before; tap <= after; tap += 1) {
    const spread = (tap < 0 ? riseMm : fallMm) / stepMm;
    taps.push(Math.exp((-0.5 * tap * tap) / (spread * spread)));
  }
  const scale = 1 / Math.hypot(...taps);
  for (const values of [field.real, field.imaginary]) {
    const source = values.slice();
    values.fill(0);
    taps.forEach((weight, index) => {
      const shift = (index - before) * beams;
      const from = Math.max(0, -shift);
      const to = Math.min(samples * beams, samples * beams - shift);
      const factor = weight * scale;
      for (let at = from; at < to; at += 1) values[at + shift] = values[at + shift]! + factor * source[at]!;
    });
  }
}

/** The face rings after sending; without gel it rings longer. */
function addFaceRinging(
  field: PolarField,
  grid: PolarGrid,
  beamLossDb: Float32Array,
  random: RandomSource,
): void {
  const { beams, stepMm } = grid;
  const end = Math.min(grid.samples, Math.round(22 / stepMm));
  for (let sample = 0; sample < end; sample += 1) {
    const depth = sample * stepMm;
    const wave = 1 + 0.5 * Math.cos(depth * 4.1);
    for (let beam = 0; beam < beams; beam += 1) {
      const loose = Math.min(1, Math.max(0, beamLossDb[beam]! - 6) / 15);
      const level = 14 * Math.exp(-depth / (1.1 + 4.5 * loose)) * wave;
      if (level < 0.02) continue;
      const at = sample * beams + beam;
      field.real[at] = field.real[at]! + level * (0.9 + 0.2 * random.next());
    }
  }
}

function addNoise(
  field: PolarField,
  grid: PolarGrid,
  settings: ReceiverSettings,
  random: RandomSource,
): void {
  const seed = random.below(2 ** 31);
  for (let sample = 0; sample < grid.samples; sample += 1) {
    const level = amplitudeOf(settings.noiseDb + timeGainDb(settings, sample * grid.stepMm));
    addWhite(field, sample, grid.beams, seed, () => level);
  }
}

/** Adds complex normal numbers of the strength given to one row. */
function addWhite(
  field: PolarField,
  sample: number,
  beams: number,
  seed: number,
  strengthOf: (beam: number) => number,
): void {
  const row = sample * beams;
  for (let beam = 0; beam < beams; beam += 1) {
    const cell = cellHash(beam, sample, 3, seed) >>> tableShift;
    const strength = strengthOf(beam);
    const at = row + beam;
    field.real[at] = field.real[at]! + strength * normalReal[cell]!;
    field.imaginary[at] = field.imaginary[at]! + strength * normalImaginary[cell]!;
  }
}
