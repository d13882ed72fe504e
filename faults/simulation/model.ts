/**
 * What ought to be true, worked out in another way than the product does: by replaying what people did in plain lists,
 * knowing nothing of the product's fold.
 */
import { instantMs } from '@ebbline/core/quantity';
import type { Entry } from '@ebbline/core/record';

const recorded = (a: Entry, b: Entry): number =>
  instantMs(a.recordedAt) - instantMs(b.recordedAt) || (a.id < b.id ? -1 : 1);
const happened = (a: Entry, b: Entry): number =>
  instantMs(a.effectiveAt) - instantMs(b.effectiveAt) || recorded(a, b);

export interface Standing {
  /** Whose record it belongs to now. */
  readonly home: string;
  readonly counts: boolean;
}

/** Where every entry belongs and whether it counts. */
export function standings(given: readonly Entry[]): ReadonlyMap<string, Standing> {
  const entries = [...given].sort(recorded);
  const byId = new Map(entries.map((entry) => [entry.id, entry]));
  // Struck out unless whatever struck it out was itself struck out: settled by going round until nothing changes.
  const struck = new Map<string, boolean>();
  const strikes = entries.filter((entry) => entry.kind === 'withdrawn');
  for (let round = 0; round < strikes.length + 1; round += 1) {
    let changed = false;
    for (const entry of entries) {
      const now = strikes.some((one) => one.payload.of === entry.id && struck.get(one.id) !== true);
      if (struck.get(entry.id) !== now) {
        struck.set(entry.id, now);
        changed = true;
      }
    }
    if (!changed) break;
  }
  const holds = (entry: Entry): boolean => struck.get(entry.id) !== true;
  const lastMove = new Map<string, string>();
  const lastCorrection = new Map<string, string>();
  for (const entry of entries) {
    if (!holds(entry)) continue;
    if (entry.kind === 'moved-to-patient') lastMove.set(entry.payload.of, entry.payload.toPatient);
    if (entry.corrects !== undefined) lastCorrection.set(entry.corrects, entry.id);
  }
  const homeOf = (entry: Entry, steps: number): string => {
    const moved = lastMove.get(entry.id);
    if (moved !== undefined) return moved;
    const before = entry.corrects === undefined ? undefined : byId.get(entry.corrects);
    return before !== undefined && steps < 32 && before.patient === entry.patient
      ? homeOf(before, steps + 1)
      : entry.patient;
  };
  return new Map(
    entries.map((entry) => {
      const later = entry.corrects === undefined ? undefined : lastCorrection.get(entry.corrects);
      const replaced = lastCorrection.has(entry.id) || (later !== undefined && later !== entry.id);
      return [entry.id, { home: homeOf(entry, 0), counts: holds(entry) && !replaced }];
    }),
  );
}

/** Who has the watch of a patient at a moment, as one word; from what one replica holds. */
export function modelOwner(entries: readonly Entry[], patient: string, nowMs: number): string {
  const standing = standings(entries);
  const live = entries
    .filter((entry) => standing.get(entry.id)?.counts === true && standing.get(entry.id)?.home === patient)
    .filter((entry) => Math.min(instantMs(entry.effectiveAt), instantMs(entry.recordedAt)) <= nowMs)
    .sort(happened);
  let holder = 'charge-nurse';
  let passes = 0;
  const offered = new Map<string, { readonly passes: number; readonly to: string | undefined }>();
  const pass = (to: string): void => {
    if (to !== holder) passes += 1;
    holder = to;
  };
  for (const entry of live) {
    if (instantMs(entry.effectiveAt) > nowMs) continue;
    if (entry.kind === 'watch-opened') pass(entry.payload.owner ?? entry.author);
    if (entry.kind === 'watch-closed') offered.clear();
    if (entry.kind === 'ownership-offered') offered.set(entry.id, { passes, to: entry.payload.toPerson });
    if (entry.kind === 'ownership-accepted') {
      const offer = offered.get(entry.payload.offer);
      if (!offer || offer.passes !== passes) continue;
      if (offer.to !== undefined && offer.to !== entry.author) continue;
      offered.delete(entry.payload.offer);
      pass(entry.author);
    }
  }
  return holder;
}
