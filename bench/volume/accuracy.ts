/**
 * How claimed volumes stand beside true ones.
 *
 * Units     mL and per cent of the true volume
 * Counted   a claim of none is a claim of 0 mL; a refusal is declined, and is in no error
 * Source    limits of agreement and exact binomial intervals of core/statistics
 */
import { isRefusal } from '../../packages/core/src/quantity/index.ts';
import {
  clopperPearsonInterval,
  limitsOfAgreement,
  type Pair,
} from '../../packages/core/src/statistics/index.ts';
import type { VolumeResult } from '../../packages/imaging/src/index.ts';
import { figure, middle } from './table.ts';

export interface Truth {
  readonly volumeMl: number;
  readonly inViewMl: number;
}
/** `volumeMl` missing = declined. */
export interface Claim {
  readonly answer: VolumeResult['answer'];
  readonly volumeMl?: number;
  readonly loMl?: number;
  readonly hiMl?: number;
  readonly boundMl?: number;
}
export interface Scored {
  readonly truth: Truth;
  readonly claim: Claim;
}

/** Below this a per cent says nothing. */
const leastForPerCentMl = 30;
const falseFromMl = 20;

export function claimOf(result: VolumeResult): Claim {
  const volumeMl =
    result.answer === 'none-seen' ? 0 : result.answer === 'refused' ? undefined : result.volumeMl;
  return {
    answer: result.answer,
    ...(volumeMl === undefined ? {} : { volumeMl }),
    ...(result.interval ? { loMl: result.interval.loMl, hiMl: result.interval.hiMl } : {}),
    ...(result.boundMl === undefined ? {} : { boundMl: result.boundMl }),
  };
}

const near = (claimMl: number, trueMl: number): boolean =>
  Math.abs(claimMl - trueMl) <= Math.max(15, 0.15 * trueMl);

/** A share with its exact 95 % interval: `28 of 30, 93 % (78 to 99)`. */
export function shareText(count: number, of: number): string {
  const interval = clopperPearsonInterval(count, of);
  if (isRefusal(interval)) return `${count} of ${of}`;
  const perCent = (share: number): string => (100 * share).toFixed(0);
  return `${count} of ${of}, ${perCent(interval.share)} % (${perCent(interval.low)} to ${perCent(interval.high)})`;
}

function limitsText(pairs: readonly Pair[]): string {
  const found = pairs.length >= 3 ? limitsOfAgreement(pairs) : undefined;
  return found === undefined || isRefusal(found)
    ? 'too few'
    : `${found.limits.low.toFixed(0)} to ${found.limits.high.toFixed(0)}`;
}

/** One row of the accuracy table; the names stand in `accuracyHead`. */
export const accuracyHead = [
  '',
  'answered',
  'declined',
  'median error %',
  'limits %',
  'limits mL',
  'within, of answered',
  'within, of all',
  'no bladder: false',
  'most mL',
];
export function accuracyRow(name: string, all: readonly Scored[]): readonly string[] {
  const answered = all.flatMap(({ truth, claim }) =>
    claim.volumeMl === undefined ? [] : [{ trueMl: truth.volumeMl, claimMl: claim.volumeMl }],
  );
  const large = answered.filter((one) => one.trueMl >= leastForPerCentMl);
  const errors = large.map((one) => (100 * (one.claimMl - one.trueMl)) / one.trueMl);
  const within = answered.filter((one) => near(one.claimMl, one.trueMl)).length;
  const empty = answered.filter((one) => one.trueMl === 0);
  const share = (of: number): string =>
    of === 0 ? 'none' : `${within} (${((100 * within) / of).toFixed(0)} %)`;
  return [
    name,
    String(answered.length),
    String(all.length - answered.length),
    figure(middle(errors.map(Math.abs))),
    limitsText(errors.map((error): Pair => [error, 0])),
    limitsText(answered.map((one): Pair => [one.claimMl, one.trueMl])),
    share(answered.length),
    share(all.length),
    `${empty.filter((one) => one.claimMl >= falseFromMl).length} of ${all.filter((one) => one.truth.volumeMl === 0).length}`,
    empty.length === 0 ? 'none' : figure(Math.max(...empty.map((one) => one.claimMl))),
  ];
}

export interface Coverage {
  readonly held: number;
  readonly given: number;
  /** Mean of width over claimed volume, %, and mean width, mL. */
  readonly widthPerCent: number;
  readonly widthMl: number;
}

/** The 90 % intervals of claims, of all or of one kind of answer. */
export function coverageOf(all: readonly Scored[], answer?: VolumeResult['answer']): Coverage {
  let held = 0;
  let widthMl = 0;
  let widthShare = 0;
  let given = 0;
  for (const { truth, claim } of all) {
    if (claim.loMl === undefined || claim.hiMl === undefined || claim.volumeMl === undefined) continue;
    if (answer !== undefined && claim.answer !== answer) continue;
    given += 1;
    if (claim.loMl <= truth.volumeMl && truth.volumeMl <= claim.hiMl) held += 1;
    widthMl += claim.hiMl - claim.loMl;
    widthShare += (claim.hiMl - claim.loMl) / Math.max(1, claim.volumeMl);
  }
  return { held, given, widthPerCent: (100 * widthShare) / given, widthMl: widthMl / given };
}

export const coverageText = (found: Coverage): string =>
  found.given === 0
    ? 'none given'
    : `${shareText(found.held, found.given)}, mean width ${found.widthPerCent.toFixed(0)} % or ${found.widthMl.toFixed(0)} mL`;

/** Bounds of the answers "at least": not above the truth (3 % allowed), and not far below what is in view. */
export function boundsText(all: readonly Scored[]): string {
  const bounded = all.filter(({ claim }) => claim.answer === 'at-least');
  if (bounded.length === 0) return 'none given';
  const low = bounded.filter(({ claim, truth }) => (claim.boundMl ?? 0) < 0.8 * truth.inViewMl).length;
  const high = bounded.filter(({ claim, truth }) => (claim.boundMl ?? 0) > 1.03 * truth.volumeMl).length;
  return `${bounded.length} given, ${high} above 1.03 of the truth, ${low} below 0.8 of what is in view`;
}
