/**
 * Would the reading's own error change what is done? The probability that the true volume lies on the other side
 * of the line that decides the next step.
 *
 *     P = 1 − Φ(|volume − line| / σ)
 *
 * Units     mL
 * Domain    σ > 0; volume and line ≥ 0
 * Not for   a reading known only as "at least" below the line: its other side is open, so it is always a toss-up
 * Source    thresholds are the unit's setting; the starting values are ours (S-made-filling-settings)
 * @example  volume 560 mL, σ 80 mL, line 400 mL → 0.023, clear
 */
import { controlIsOn, refuse, type Refusal } from '../quantity/index.ts';
import { normalUpperTail } from '../statistics/distributions.ts';

export interface ErrorMatterSettings {
  /** Below this the error cannot be expected to matter. */
  readonly clearBelow: number;
  /** From here on measure again before acting. */
  readonly tossUpFrom: number;
}

export const startingErrorMatterSettings: ErrorMatterSettings = { clearBelow: 0.05, tossUpFrom: 0.2 };

export interface ErrorMatter {
  readonly otherSideProbability: number;
  /** Side of the line on which the reading itself stands; on the line counts as at or above. */
  readonly side: 'below' | 'at-or-above';
  /**
   * `clear`: the other side is very unlikely. `either-way`: possible, but too unlikely to change the step.
   * `toss-up`: measure again before acting on it.
   */
  readonly verdict: 'either-way' | 'toss-up' | 'clear';
}

export function wouldErrorMatter(
  question: {
    readonly volumeMl: number;
    readonly standardDeviationMl: number;
    readonly lineMl: number;
    readonly bound?: 'exact' | 'at-least';
  },
  settings: ErrorMatterSettings = startingErrorMatterSettings,
): ErrorMatter | Refusal {
  const { volumeMl, standardDeviationMl, lineMl } = question;
  if (
    ![volumeMl, lineMl].every((one) => Number.isFinite(one) && one >= 0) ||
    !(standardDeviationMl > 0 && Number.isFinite(standardDeviationMl))
  ) {
    return refuse('filling/not-a-volume', {
      asked: 'Comparison with the line',
      found: `${volumeMl} mL, error ${standardDeviationMl} mL, line ${lineMl} mL`,
      allowed: 'volumes from 0 mL and an error above 0 mL',
      todo: 'Check the reading and the line.',
    });
  }
  const side = volumeMl >= lineMl ? 'at-or-above' : 'below';
  if (question.bound === 'at-least' && controlIsOn('at-least-is-a-bound')) {
    // The truth is at or above the reading: below the line nothing is known of the rest, above it the error only helps.
    return side === 'below'
      ? { otherSideProbability: 0.5, side, verdict: 'toss-up' }
      : { otherSideProbability: 0, side, verdict: 'clear' };
  }
  const otherSideProbability = normalUpperTail(Math.abs(volumeMl - lineMl) / standardDeviationMl);
  const verdict =
    otherSideProbability < settings.clearBelow
      ? 'clear'
      : otherSideProbability < settings.tossUpFrom
        ? 'either-way'
        : 'toss-up';
  return { otherSideProbability, side, verdict };
}
