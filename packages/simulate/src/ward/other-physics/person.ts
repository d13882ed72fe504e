import type { Emptying } from '../course.ts';
import type { SimulatedSetting } from '../lines.ts';
import { streamFor } from '../streams.ts';

/** One person of the second generator. */
export interface OtherPerson {
  readonly setting: SimulatedSetting;
  readonly ageY: number;
  readonly sex: 'female' | 'male';
  readonly weightKg: number;
  readonly holdsMl: number;
  readonly limitMl: number;
  readonly feels: 'ordinary' | 'blunted' | 'none';
  readonly emptying: Emptying;
  readonly startMl: number;
  readonly baseMlPerH: number;
  /** Goes by the clock, whatever is in: every so many minutes. Undefined: goes when it is felt. */
  readonly clockEveryMin: number | undefined;
  /** Shifts the clock of this person, min. */
  readonly clockPhaseMin: number;
  /** What must be felt before going, mL. */
  readonly goesAtMl: number;
}

/**
 * Draws one person. Nothing here follows the first generator: inflow from a gamma, holding volume from a triangle,
 * habits by the clock for nearly half, an urge that has nothing to do with capacity.
 *
 * Units     mL, mL/h, kg, min
 * Source    S-made-other-physics: chosen to differ, inside the order of size of S-job-4.2
 */
export function drawOtherPerson(seed: number, patient: string): OtherPerson {
  const random = streamFor(seed, patient, 'person');
  const setting = random.pick<SimulatedSetting>([
    'after-surgery',
    'after-surgery',
    'after-surgery',
    'catheter-removed',
    'after-birth',
    'stroke',
    'spinal-cord',
  ]);
  const woman = setting === 'after-birth' || random.next() < 0.55;
  // A gamma of shape 4 is the sum of four exponential draws.
  const gamma = -Math.log(
    (1 - random.next()) * (1 - random.next()) * (1 - random.next()) * (1 - random.next()),
  );
  const meanMlPerH = setting === 'after-surgery' ? 115 : setting === 'after-birth' ? 100 : 75;
  const holdsMl = 300 + 300 * random.next() + 300 * random.next();
  const feels = random.next();
  const empties = random.next();
  const stuck = setting === 'spinal-cord' ? 0.5 : 0.16;
  return {
    setting,
    ageY: setting === 'after-birth' ? 18 + random.below(26) : 35 + random.below(60),
    sex: woman ? 'female' : 'male',
    weightKg: (woman ? 48 : 56) + random.below(50),
    holdsMl,
    limitMl: random.pick([400, 500, 500, 600]),
    feels: feels < 0.65 ? 'ordinary' : feels < 0.88 ? 'blunted' : 'none',
    emptying: empties < stuck ? 'late-recovery' : empties < stuck + 0.22 ? 'poor' : 'good',
    startMl: setting === 'catheter-removed' ? 10 : 450 * random.next() * random.next() + 20,
    baseMlPerH: (meanMlPerH * gamma) / 4,
    clockEveryMin: random.next() < 0.45 ? 150 + 30 * random.below(5) : undefined,
    clockPhaseMin: 5 * random.below(30),
    goesAtMl: 260 + random.below(180),
  };
}
