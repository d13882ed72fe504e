/**
 * Intervals for a share: Wilson's score interval, plain or with continuity correction, and the exact one of
 * Clopper and Pearson.
 *
 *     Wilson   (p + z²/2n ± z √(p(1−p)/n + z²/4n²)) / (1 + z²/n)
 *
 * Domain    0 ≤ count ≤ of, of > 0, whole numbers; level between 0 and 1
 * Source    S-clinical-K13 (Newcombe 1998); S-clopper-pearson
 * @example  wilsonInterval(81, 263) // 0.2553 to 0.3662
 */
import type { Refusal } from '../quantity/index.ts';
import { badShare } from './check.ts';
import { betaQuantile, normalQuantile } from './distributions.ts';

export interface ShareInterval {
  readonly share: number;
  readonly low: number;
  readonly high: number;
}

export function wilsonInterval(
  count: number,
  of: number,
  settings: { readonly level?: number; readonly continuityCorrected?: boolean } = {},
): ShareInterval | Refusal {
  const bad = badShare('Share with interval', count, of);
  if (bad) return bad;
  const z = normalQuantile(1 - (1 - (settings.level ?? 0.95)) / 2);
  const share = count / of;
  const base = 2 * of * share + z * z;
  const below = 2 * (of + z * z);
  if (settings.continuityCorrected === true) {
    const low = (base - 1 - z * Math.sqrt(z * z - 2 - 1 / of + 4 * share * (of * (1 - share) + 1))) / below;
    const high = (base + 1 + z * Math.sqrt(z * z + 2 - 1 / of + 4 * share * (of * (1 - share) - 1))) / below;
    return { share, low: count === 0 ? 0 : Math.max(0, low), high: count === of ? 1 : Math.min(1, high) };
  }
  const half = z * Math.sqrt(z * z + 4 * of * share * (1 - share));
  return {
    share,
    low: count === 0 ? 0 : (base - half) / below,
    high: count === of ? 1 : (base + half) / below,
  };
}

export function clopperPearsonInterval(count: number, of: number, level = 0.95): ShareInterval | Refusal {
  const bad = badShare('Share with exact interval', count, of);
  if (bad) return bad;
  const tail = (1 - level) / 2;
  return {
    share: count / of,
    low: count === 0 ? 0 : betaQuantile(tail, count, of - count + 1),
    high: count === of ? 1 : betaQuantile(1 - tail, count + 1, of - count),
  };
}
