/**
 * What happened in a stretch that lies in the past, given everything charted, later entries too: what the bladder
 * probably held, when it passed the limit, and for how long and by how much it was above.
 *
 *     paths of several clouds with other chances, each cloud weighted by how likely it finds what was seen
 *     hours above = time of a path above the limit      mL·h above = area of a path above the limit
 *
 * Units     mL, mL·h, hours, ms since the epoch; shares 0 to 1
 * Domain    as for an estimate; a stretch of at most 14 days that is over by `nowMs`; 1 to 64 clouds
 * Not for   irrigation, a bladder made of bowel, a urostomy: says `valid: false`
 * Errors    8,192 paths; on simulated wards ADR 0014
 * Source    S-particle-paths
 */
import { controlIsOn, hourMs, isRefusal, minuteMs, refuse, type Refusal } from '../quantity/index.ts';
import { personCount } from './cloud.ts';
import { checkObservations, type FillingObservation } from './observation.ts';
import { runPaths, type PathPiece } from './paths.ts';
import { wholeMinute } from './person.ts';
import type { FillingPrior } from './prior.ts';
import { contentIn, countSpells, type Spell } from './spells.ts';
import { inOrder } from './weighted.ts';

export interface ReconstructQuestion {
  readonly observations: readonly FillingObservation[];
  readonly prior: FillingPrior;
  readonly limitMl: number;
  /** What is charted by then is known. */
  readonly nowMs: number;
  readonly fromMs: number;
  readonly toMs: number;
  /**
   * Only the spell above the limit that holds this instant counts, as when somebody was found over it. Absent: all of
   * the stretch.
   */
  readonly aboutMs?: number;
  /** Instants at which the content is asked for, each just before anything that happens at it. */
  readonly atMs?: readonly number[];
  readonly clockAheadMs?: number;
  /** How many clouds. Default: as many as give 8,192 paths. */
  readonly clouds?: number;
}

export interface LikelyRange {
  readonly low: number;
  readonly likely: number;
  readonly high: number;
}

export interface ContentThen {
  readonly atMs: number;
  readonly p05Ml: number;
  readonly p50Ml: number;
  readonly p95Ml: number;
}

export interface Reconstruction {
  readonly track: readonly ContentThen[];
  /** Share of paths that were over the limit: at some time, or at the instant asked about. */
  readonly overShare: number;
  /** When these paths passed the limit: 5, 50 and 95 in 100 by then. Absent when none did. */
  readonly crossing?: {
    readonly earliestAtMs: number;
    readonly likelyAtMs: number;
    readonly latestAtMs: number;
  };
  /** Of all paths, one that was never above as 0: median, and 5 and 95 % points. */
  readonly hoursOver: LikelyRange;
  readonly mlHoursOver: LikelyRange;
  /** Of the paths over the limit, the share for which nothing charted says how they came to be. */
  readonly unexplainedShare: number;
  readonly paths: number;
  readonly validity: { readonly valid: true } | { readonly valid: false; readonly reason: string };
}

/** As many as give 8,192 paths. S-made-looking-back */
const usualClouds = Math.ceil(8192 / personCount);
/** What comes so long after a stretch tells next to nothing of it, and costs paths. S-made-looking-back */
const tellsForMs = 3 * hourMs;
const longestStretchMs = 14 * 24 * hourMs;

function checkQuestion(question: ReconstructQuestion): Refusal | undefined {
  const { fromMs, toMs, nowMs, limitMl, clouds = usualClouds } = question;
  const lengthMs = toMs - fromMs;
  if (!(lengthMs > 0 && lengthMs <= longestStretchMs && toMs <= nowMs)) {
    return refuse('filling/stretch-out-of-range', {
      asked: 'Looking back',
      found: toMs > nowMs ? 'a stretch that is not over' : `a stretch of ${lengthMs / minuteMs} min`,
      allowed: 'a stretch in the past, up to 14 days',
      todo: 'Give a start, and an end after it that has passed.',
    });
  }
  if (!(limitMl >= 50 && limitMl <= 5000)) {
    return refuse('filling/limit-out-of-range', {
      asked: 'Limit',
      found: `${limitMl} mL`,
      allowed: '50 to 5000 mL',
      todo: "Set this patient's limit.",
    });
  }
  if (!(Number.isInteger(clouds) && clouds >= 1 && clouds <= 64)) {
    return refuse('filling/clouds-out-of-range', {
      asked: 'Looking back',
      found: `${clouds} clouds`,
      allowed: '1 to 64 clouds',
      todo: 'Leave it out for the usual number.',
    });
  }
  return undefined;
}

/** What each path came to, all clouds after one another. */
interface Pool {
  readonly weight: Float64Array;
  readonly crossedMs: Float64Array;
  readonly hours: Float64Array;
  readonly mlHours: Float64Array;
  readonly afresh: Uint8Array;
  readonly contentMl: readonly Float64Array[];
}

function notePath(pool: Pool, place: number, spells: readonly Spell[], aboutMs: number | undefined): void {
  const counted =
    aboutMs === undefined
      ? spells
      : spells.filter((one) => one.sinceMs <= aboutMs && aboutMs <= one.untilMs).slice(0, 1);
  const first = counted.at(-1);
  pool.crossedMs[place] = first?.sinceMs ?? Infinity;
  pool.afresh[place] = first?.afresh === true ? 1 : 0;
  pool.hours[place] = counted.reduce((sum, one) => sum + (one.untilMs - one.sinceMs), 0) / hourMs;
  pool.mlHours[place] = counted.reduce((sum, one) => sum + one.areaMlMs, 0) / hourMs;
}

function poolPaths(question: ReconstructQuestion, ordered: readonly FillingObservation[]) {
  const { prior, limitMl, nowMs, clockAheadMs = 0, clouds = usualClouds, atMs = [] } = question;
  const [fromMs, toMs] = [wholeMinute(question.fromMs), wholeMinute(question.toMs)];
  const aboutMs = question.aboutMs === undefined ? undefined : wholeMinute(question.aboutMs);
  const count = clouds * personCount;
  const room = (): Float64Array => new Float64Array(count);
  const pool: Pool = {
    weight: room(),
    crossedMs: room(),
    hours: room(),
    mlHours: room(),
    afresh: new Uint8Array(count),
    contentMl: atMs.map(room),
  };
  // Nothing that comes after the last word tells of the stretch, and what comes hours later next to nothing.
  const lastMs = Math.max(toMs, ...ordered.map((one) => wholeMinute(one.atMs)));
  const untilMs = Math.min(wholeMinute(nowMs), lastMs, toMs + tellsForMs);
  const logEvidence: number[] = [];
  let notValid: string | undefined;
  for (let cloud = 0; cloud < clouds; cloud += 1) {
    const spells = countSpells(limitMl, fromMs, toMs);
    let place = cloud * personCount;
    const close = (): void => notePath(pool, place, spells.finish(), aboutMs);
    const take = (path: number, piece: PathPiece): void => {
      if (cloud * personCount + path !== place) {
        close();
        place = cloud * personCount + path;
      }
      spells.take(piece);
      for (const [index, askedMs] of atMs.entries())
        if (piece.fromMs <= askedMs && askedMs <= piece.toMs)
          (pool.contentMl[index] as Float64Array)[place] = contentIn(piece, askedMs);
    };
    const person = { prior, limitMl, nowMs, clockAheadMs, run: cloud + 1 };
    const run = runPaths({ observations: ordered, person, fromMs, untilMs }, take);
    close();
    pool.weight.set(run.weight, cloud * personCount);
    logEvidence.push(run.logEvidence);
    notValid = run.notValid;
  }
  const best = Math.max(...logEvidence);
  const shares = logEvidence.map((one) => Math.exp(one - best));
  const all = shares.reduce((sum, one) => sum + one, 0);
  for (let path = 0; path < count; path += 1)
    pool.weight[path] =
      ((pool.weight[path] as number) * (shares[Math.floor(path / personCount)] as number)) / all;
  return { pool, notValid };
}

/** The stretch as it probably was, or why it can't be said. */
export function reconstruct(question: ReconstructQuestion): Reconstruction | Refusal {
  const bad = checkQuestion(question);
  if (bad) return bad;
  const ordered = checkObservations(question.observations);
  if (isRefusal(ordered)) return ordered;
  const { pool, notValid } = poolPaths(question, ordered);
  const { weight } = pool;
  const rangeOf = (values: Float64Array): LikelyRange => {
    const { quantile } = inOrder(values, weight);
    return { low: quantile(0.05) ?? 0, likely: quantile(0.5) ?? 0, high: quantile(0.95) ?? 0 };
  };
  let over = 0;
  let unexplained = 0;
  for (let path = 0; path < weight.length; path += 1) {
    if (pool.crossedMs[path] === Infinity) continue;
    over += weight[path] as number;
    if (pool.afresh[path] === 1) unexplained += weight[path] as number;
  }
  const crossings = inOrder(pool.crossedMs, weight);
  const at = (share: number): number => crossings.quantile(share * over) ?? question.fromMs;
  return {
    track: (question.atMs ?? []).map((atMs, index) => {
      const { low, likely, high } = rangeOf(pool.contentMl[index] as Float64Array);
      return { atMs, p05Ml: low, p50Ml: likely, p95Ml: high };
    }),
    overShare: Math.min(1, over),
    ...(over > 0 ? { crossing: { earliestAtMs: at(0.05), likelyAtMs: at(0.5), latestAtMs: at(0.95) } } : {}),
    hoursOver: rangeOf(pool.hours),
    mlHoursOver: rangeOf(pool.mlHours),
    unexplainedShare: over > 0 ? unexplained / over : 0,
    paths: weight.length,
    validity:
      notValid === undefined || !controlIsOn('estimate-not-valid')
        ? { valid: true }
        : { valid: false, reason: notValid },
  };
}
