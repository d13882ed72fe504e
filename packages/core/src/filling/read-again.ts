/**
 * What another reading of the same bladder would bring, when the step hangs on the side of a line and the two are
 * averaged.
 *
 *     error of a reading = part shared by a repeat (body, device, hand: share r of its variance) + its own
 *     mean m of both ~ N(y, s²),  s² = (1 − r) σ²/2      true volume | m ~ N(m, τ²),  τ² = r σ² + s²
 *     changes = P(m beyond the line)     wrong side after = ∫ Φ(−|m − line|/τ) dN(m)
 *     settles = P(Φ(−|m − line|/τ) < the unit's toss-up)
 *
 * Units     mL; probabilities and shares 0 to 1
 * Domain    σ > 0; volume and line ≥ 0; shared share 0 to 1: at 1 a repeat says nothing new
 * Not for   a reading known only as "at least", or with a doubt about the view: aim better first
 * Errors    the integral to 1e-9; the error is taken as normal and of one size on both sides of the line
 * Source    nothing but the first reading is taken as known of the volume, as in would-error-matter.ts; sums of normals
 *           (S-arithmetic)
 * @example  σ 80 mL on the line, r = 0: the wrong side 1 in 2 before, 1 in 4 after
 */
import { refuse, type Refusal } from '../quantity/index.ts';
import { normalDensity, normalQuantile, normalUpperTail } from '../statistics/distributions.ts';
import { startingErrorMatterSettings, type ErrorMatterSettings } from './would-error-matter.ts';

export interface ReadAgain {
  /** That the mean of both lies on the other side of the line than the first. */
  readonly changesProbability: number;
  /** That the mean of both is no toss-up any more. */
  readonly settlesProbability: number;
  readonly wrongSideBefore: number;
  /** Expected, once both are averaged. */
  readonly wrongSideAfter: number;
}

export function readAgain(
  question: {
    readonly volumeMl: number;
    readonly standardDeviationMl: number;
    readonly lineMl: number;
    /** Share of the error's variance that a repeat has in common with the first reading. */
    readonly sharedShare: number;
  },
  settings: Pick<ErrorMatterSettings, 'tossUpFrom'> = startingErrorMatterSettings,
): ReadAgain | Refusal {
  const { volumeMl, standardDeviationMl, lineMl, sharedShare } = question;
  if (
    ![volumeMl, lineMl].every((one) => Number.isFinite(one) && one >= 0) ||
    !(standardDeviationMl > 0 && Number.isFinite(standardDeviationMl)) ||
    !(sharedShare >= 0 && sharedShare <= 1)
  ) {
    return refuse('filling/not-a-volume', {
      asked: 'Another reading',
      found: `${volumeMl} mL, error ${standardDeviationMl} mL, line ${lineMl} mL, shared ${sharedShare}`,
      allowed: 'volumes from 0 mL, an error above 0 mL, a share from 0 to 1',
      todo: 'Check the reading, the line and the unit’s settings.',
    });
  }
  const away = Math.abs(volumeMl - lineMl) / standardDeviationMl;
  const wrongSideBefore = normalUpperTail(away);
  const ownSpread = Math.sqrt((1 - sharedShare) / 2);
  const leftSpread = Math.sqrt(sharedShare + ownSpread * ownSpread);
  if (ownSpread === 0) {
    return {
      changesProbability: 0,
      settlesProbability: wrongSideBefore < settings.tossUpFrom ? 1 : 0,
      wrongSideBefore,
      wrongSideAfter: wrongSideBefore,
    };
  }
  const clearFrom =
    settings.tossUpFrom >= 0.5 ? 0 : -normalQuantile(Math.max(1e-12, settings.tossUpFrom)) * leftSpread;
  return {
    changesProbability: normalUpperTail(away / ownSpread),
    settlesProbability:
      normalUpperTail((clearFrom - away) / ownSpread) + normalUpperTail((clearFrom + away) / ownSpread),
    wrongSideBefore,
    wrongSideAfter: expectedWrongSide(away, ownSpread, leftSpread),
  };
}

const panels = 400;
const reach = 8;

/** ∫ Φ(−|x|/left) φ((x − away)/own)/own dx by Simpson's rule, the two sides of the line apart since there is a bend. */
function expectedWrongSide(away: number, own: number, left: number): number {
  const at = (x: number): number =>
    (normalUpperTail(Math.abs(x) / left) * normalDensity((x - away) / own)) / own;
  const over = (from: number, to: number): number => {
    if (!(to > from)) return 0;
    const step = (to - from) / panels;
    let sum = at(from) + at(to);
    for (let place = 1; place < panels; place += 1)
      sum += (place % 2 === 1 ? 4 : 2) * at(from + place * step);
    return (sum * step) / 3;
  };
  const [low, high] = [away - reach * own, away + reach * own];
  return over(low, Math.min(0, high)) + over(Math.max(0, low), high);
}
