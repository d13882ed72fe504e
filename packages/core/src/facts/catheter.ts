import { calendarDay, dayMs, hourMs, instantMs, instantsOfWallClock, wallClock } from '../quantity/index.ts';
import type { Entry } from '../record/index.ts';
import type { CatheterFact } from './types.ts';

interface Stay {
  readonly fromMs: number;
  toMs: number;
  readonly route: 'urethral' | 'suprapubic';
}

/** Spans in which an indwelling catheter was in place. One that could not be passed never was. */
export function catheterStays(live: readonly Entry[], nowMs: number): readonly Stay[] {
  const stays: Stay[] = [];
  let open: Stay | undefined;
  for (const entry of live) {
    const atMs = instantMs(entry.effectiveAt);
    const placed =
      entry.kind === 'catheter-placed'
        ? entry.payload.route
        : entry.kind === 'drained' &&
            entry.payload.route === 'left-in' &&
            entry.payload.difficulty !== 'failed'
          ? 'urethral'
          : undefined;
    if (placed !== undefined && !open) {
      open = { fromMs: atMs, toMs: nowMs, route: placed };
      stays.push(open);
    }
    if (entry.kind === 'catheter-removed' && open) {
      open.toMs = atMs;
      open = undefined;
    }
  }
  return stays;
}

/** Instants in a span at which the unit counts: its hour on each local calendar day. */
export function countingInstants(
  fromMs: number,
  toMs: number,
  hour: number,
  zone: string,
): readonly number[] {
  const found: number[] = [];
  for (let dayStartMs = fromMs - dayMs; dayStartMs <= toMs + dayMs; dayStartMs += dayMs) {
    const { year, month, day } = wallClock(dayStartMs, zone);
    // In a repeated hour the first is taken; an hour that the clock jumps over is counted an hour later.
    const atMs =
      instantsOfWallClock({ year, month, day, hour, minute: 0 }, zone)[0] ??
      instantsOfWallClock({ year, month, day, hour: (hour + 1) % 24, minute: 0 }, zone)[0];
    if (atMs !== undefined && atMs >= fromMs && atMs < toMs && atMs !== found.at(-1)) found.push(atMs);
  }
  return [...new Set(found)];
}

/**
 * Catheter-days: one for each counting instant at which an indwelling urethral catheter was in place. In-and-out
 * catheters and suprapubic ones don't count.
 *
 * Source    S-clinical-I3
 */
export function catheterDays(
  live: readonly Entry[],
  nowMs: number,
  hour: number,
  zone: string,
  fromMs = Number.NEGATIVE_INFINITY,
): number {
  let days = 0;
  for (const stay of catheterStays(live, nowMs)) {
    if (stay.route !== 'urethral') continue;
    days += countingInstants(Math.max(stay.fromMs, fromMs), Math.min(stay.toMs, nowMs), hour, zone).length;
  }
  return days;
}

/** Calendar days that a span touches in a zone: 1 for a span within one day. */
function calendarDays(fromMs: number, toMs: number, zone: string): number {
  const dayOf = (atMs: number): number => instantMs(`${calendarDay(atMs, zone)}T00:00:00Z`) / dayMs;
  return dayOf(toMs) - dayOf(fromMs) + 1;
}

export function catheterFact(live: readonly Entry[], nowMs: number, zone: string): CatheterFact {
  const open = catheterStays(live, nowMs).find(
    (one) =>
      one.toMs === nowMs &&
      !live.some((entry) => entry.kind === 'catheter-removed' && instantMs(entry.effectiveAt) >= one.fromMs),
  );
  if (!open) return { inPlace: false, catheterDays: 0 };
  let reason: string | undefined;
  let plannedRemovalAtMs: number | undefined;
  let status: CatheterFact['status'] = 'draining';
  for (const entry of live) {
    if (instantMs(entry.effectiveAt) < open.fromMs) continue;
    if (entry.kind === 'catheter-placed' || entry.kind === 'catheter-reviewed') {
      reason = entry.payload.reason ?? reason;
      if (entry.payload.plannedRemovalAt !== undefined)
        plannedRemovalAtMs = instantMs(entry.payload.plannedRemovalAt);
    }
    if (entry.kind === 'catheter-status') {
      const said = entry.payload.status;
      status = said === 'blocked' || said === 'clamped' || said === 'irrigation-running' ? said : 'draining';
    }
  }
  return {
    inPlace: true,
    route: open.route,
    placedAtMs: open.fromMs,
    ...(reason === undefined ? {} : { reason }),
    ...(plannedRemovalAtMs === undefined ? {} : { plannedRemovalAtMs }),
    status,
    catheterDays: calendarDays(open.fromMs, nowMs, zone),
  };
}

/** A catheter is looked at again at least once a day (S-clinical-Q13). */
export const catheterReviewEveryMs = 24 * hourMs;
