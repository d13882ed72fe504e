/**
 * Who has the watch of one patient. One owner at every minute, never none: the person who opened the watch, then
 * whoever last accepted it, else the nurse in charge of the ward.
 */
import { controlIsOn, instantMs } from '../quantity/index.ts';
import type { Entry, WatchSetting } from '../record/index.ts';
import type { OpenOffer, Owner, OwnershipSpan } from './types.ts';

export const sameOwner = (a: Owner, b: Owner): boolean =>
  a.kind === 'person'
    ? b.kind === 'person' && a.person === b.person
    : b.kind === 'role' && a.role === b.role && a.ward === b.ward;

type Of<Kind extends Entry['kind']> = Extract<Entry, { kind: Kind }>;

const addressee = (offer: Of<'ownership-offered'>, ward: string): Owner =>
  offer.payload.toPerson !== undefined
    ? { kind: 'person', person: offer.payload.toPerson }
    : { kind: 'role', role: offer.payload.toRole ?? 'charge-nurse', ward: offer.payload.toWard ?? ward };

export interface Ownership {
  readonly owner: Owner;
  readonly spans: readonly OwnershipSpan[];
  readonly offers: readonly Omit<OpenOffer, 'mustName'>[];
}

/**
 * @param live live entries of one patient in order of effective time
 * @param ward where the patient is now, for the owner of last resort
 */
export function ownershipOf(live: readonly Entry[], ward: string, nowMs: number): Ownership {
  const lastResort: Owner = { kind: 'role', role: 'charge-nurse', ward };
  let owner: Owner = lastResort;
  const spans: OwnershipSpan[] = [];
  const open = new Map<string, { offer: Of<'ownership-offered'>; from: Owner; to: Owner }>();
  const pass = (to: Owner, atMs: number, because: string, readBack?: string): void => {
    owner = to;
    spans.push({ owner: to, fromMs: atMs, because, ...(readBack === undefined ? {} : { readBack }) });
    // An offer lapses when its giver no longer has the watch: two people can't both take it.
    for (const [id, one] of open) if (!sameOwner(one.from, owner)) open.delete(id);
  };
  for (const entry of live) {
    const atMs = instantMs(entry.effectiveAt);
    if (atMs > nowMs) break;
    if (entry.kind === 'watch-opened') {
      pass({ kind: 'person', person: entry.payload.owner ?? entry.author }, atMs, entry.id);
    } else if (entry.kind === 'watch-closed') {
      open.clear();
    } else if (entry.kind === 'ownership-offered') {
      open.set(entry.id, { offer: entry, from: owner, to: addressee(entry, ward) });
    } else if (entry.kind === 'ownership-accepted') {
      const offered = open.get(entry.payload.offer);
      if (!offered) continue;
      // Offered to a person by name: only that person can take it. Offered to a role: whoever of the role does.
      const byName = offered.to.kind === 'person' && offered.to.person !== entry.author;
      if (byName && controlIsOn('H13-by-name')) continue;
      open.delete(entry.payload.offer);
      pass({ kind: 'person', person: entry.author }, atMs, entry.id, entry.payload.readBack);
    }
  }
  const offers = [...open.values()].map(({ offer, from, to }) => ({
    id: offer.id,
    atMs: instantMs(offer.effectiveAt),
    from,
    to,
    occasion: offer.payload.occasion,
  }));
  return { owner, spans, offers };
}

/** Settings in which looks have ended by plan. */
export const looksHaveEnded = (setting: WatchSetting | undefined): boolean => setting === 'comfort';
