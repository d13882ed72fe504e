import type { RandomSource } from '@ebbline/core/quantity';

/** What went badly wrong with a made-up reading, when something did. */
export type GrossError = 'clipped' | 'other-fluid' | 'wrong-aim';

export interface SimulatedReading {
  readonly volumeMl: number;
  readonly gross?: GrossError;
}

export interface ReaderBias {
  /** Share by which this scanner reads high (0.12) or low (-0.05). */
  readonly scanner: number;
  /** Share by which this operator does. */
  readonly operator: number;
}

/**
 * A reading of a known volume with the errors of scanner, operator and moment; six in a hundred go badly wrong.
 *
 * Units     mL in, whole mL out
 * Domain    0 ≤ trueMl; under 25 mL a reading may be 0
 * Source    S-job-4.2 (within-reading sd 8 % + 15 mL; 6 % gross: × 0.3 to 0.8, +150 to +600, or 0). To generate, not to claim.
 */
export function readVolume(
  trueMl: number,
  bias: ReaderBias,
  random: RandomSource,
  grossShare = 0.06,
): SimulatedReading {
  const spreadMl = 0.08 * trueMl + 15;
  const plain = Math.max(0, trueMl * (1 + bias.scanner + bias.operator) + spreadMl * random.normal());
  const chance = random.next();
  if (chance < grossShare / 2)
    return { volumeMl: Math.round(plain * (0.3 + 0.5 * random.next())), gross: 'clipped' };
  if (chance < grossShare * 0.85)
    return { volumeMl: Math.round(plain + 150 + 450 * random.next()), gross: 'other-fluid' };
  if (chance < grossShare) return { volumeMl: 0, gross: 'wrong-aim' };
  if (trueMl < 25 && random.next() < 0.5) return { volumeMl: 0 };
  return { volumeMl: Math.round(plain) };
}

/** A typed figure: about a third end in 0 or 5 because they were rounded (S-job-4.2). */
export function typedVolume(volumeMl: number, random: RandomSource): number {
  return random.next() < 0.35 ? Math.round(volumeMl / 5) * 5 : Math.round(volumeMl);
}

/** Minutes until an event is charted: two in five within 5, two in five within the hour, the rest later (S-job-4.2). */
export function chartingDelayMin(random: RandomSource): number {
  const chance = random.next();
  if (chance < 0.4) return random.below(5);
  if (chance < 0.8) return 5 + random.below(55);
  return 60 + random.below(240);
}
