/**
 * A residual measured late, carried back to the end of the void: what has filled since is taken off. The raw
 * reading stays; this stands beside it.
 *
 *     residual = reading − rate · time        variance = σ² + (time · σ_rate)²
 *
 * The stated range of rates is taken as 90 in 100 of the rates.
 *
 * Units     mL, mL/h, minutes
 * Domain    0 ≤ minutes ≤ 1440; 0 ≤ low ≤ high ≤ 2000 mL/h; σ > 0
 * Source    arithmetic O2 (S-clinical-O2); the rates are the unit's setting
 * @example  120 mL 30 min after the void at 100 to 200 mL/h, σ 26 mL → 45 mL (0 to 95)
 */
import { refuse, type Refusal } from '../quantity/index.ts';

/** 95 % point of the standard normal. S-arithmetic */
const z95 = 1.6448536269514722;

export interface CarriedBack {
  readonly rawMl: number;
  readonly likelyMl: number;
  readonly lowMl: number;
  readonly highMl: number;
}

export function carryBack(question: {
  readonly residualMl: number;
  readonly standardDeviationMl: number;
  readonly sinceVoidMin: number;
  readonly lowMlPerH: number;
  readonly highMlPerH: number;
}): CarriedBack | Refusal {
  const { residualMl, standardDeviationMl, sinceVoidMin, lowMlPerH, highMlPerH } = question;
  const timeFits = sinceVoidMin >= 0 && sinceVoidMin <= 1440;
  const ratesFit = lowMlPerH >= 0 && highMlPerH >= lowMlPerH && highMlPerH <= 2000;
  if (
    !(residualMl >= 0 && Number.isFinite(residualMl)) ||
    !(standardDeviationMl > 0) ||
    !timeFits ||
    !ratesFit
  ) {
    return refuse('filling/cannot-carry-back', {
      asked: 'Residual carried back',
      found: `${residualMl} mL, error ${standardDeviationMl} mL, ${sinceVoidMin} min after the void, ${lowMlPerH} to ${highMlPerH} mL/h`,
      allowed:
        'a volume from 0 mL, an error above 0 mL, 0 to 1440 min, rates from 0 to 2000 mL/h, the lower first',
      todo: 'Check the time of the void and the rates.',
    });
  }
  const hours = sinceVoidMin / 60;
  const middle = residualMl - (hours * (lowMlPerH + highMlPerH)) / 2;
  const rateSd = (highMlPerH - lowMlPerH) / (2 * z95);
  const spread = z95 * Math.hypot(standardDeviationMl, hours * rateSd);
  return {
    rawMl: residualMl,
    likelyMl: Math.max(0, middle),
    lowMl: Math.max(0, middle - spread),
    highMl: Math.max(0, middle + spread),
  };
}
