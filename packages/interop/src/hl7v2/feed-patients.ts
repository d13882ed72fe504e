/**
 * Who is where, from everything that a feed has said: a fold that takes the messages as a set, so that the order in which
 * they arrive, and how often, changes nothing.
 *
 *     the same key twice          counts once
 *     order                       by when it happened, then when it was told, then key
 *     a cancel                    takes out the event that it names by its time, else the newest of that kind told before it
 *     a merge                     the retired number leads to the surviving one from then on, through any chain
 *
 * Errors    none: a message that contradicts the others is placed by its time like any other
 * Source    HL7 v2.5.1 chapter 3, from memory (S-from-memory)
 */
import type { FeedIdentifier, FeedPerson, FeedPlace, Happening, PatientEvent } from './patient-event.ts';

export interface FeedStay {
  /** Number of the stay; a stand-in where the feed gave none. */
  readonly visit: string;
  readonly admittedAtMs?: number;
  readonly dischargedAtMs?: number;
  readonly onLeave: boolean;
  /** From when which bed, oldest first. */
  readonly places: readonly (FeedPlace & { readonly fromMs: number })[];
}

export interface FeedPatient {
  readonly identifier: FeedIdentifier;
  /** Numbers that lead here. */
  readonly retired: readonly FeedIdentifier[];
  readonly person: FeedPerson;
  readonly stays: readonly FeedStay[];
}

const nameOf = ({ system, value }: FeedIdentifier): string => `${system}|${value}`;
const inOrder = (a: PatientEvent, b: PatientEvent): number =>
  a.atMs - b.atMs || a.toldAtMs - b.toldAtMs || (a.key < b.key ? -1 : a.key > b.key ? 1 : 0);
const asTold = (a: PatientEvent, b: PatientEvent): number =>
  a.toldAtMs - b.toldAtMs || (a.key < b.key ? -1 : a.key > b.key ? 1 : 0);

const cancels: Partial<Record<Happening, Happening>> = {
  'admission-cancelled': 'admitted',
  'transfer-cancelled': 'transferred',
  'discharge-cancelled': 'discharged',
};

/** Keys of the events that a cancel took out. */
function cancelledKeys(
  events: readonly PatientEvent[],
  leadsTo: (name: string) => string,
): ReadonlySet<string> {
  const out = new Set<string>();
  const ordered = [...events].sort(asTold);
  for (const [place, cancel] of ordered.entries()) {
    const kind = cancels[cancel.happening];
    if (kind === undefined) continue;
    const patient = leadsTo(nameOf(cancel.identifier));
    const candidates = ordered
      .slice(0, place)
      .filter(
        (one) =>
          one.happening === kind &&
          !out.has(one.key) &&
          leadsTo(nameOf(one.identifier)) === patient &&
          (cancel.visit === undefined || one.visit === undefined || one.visit === cancel.visit),
      );
    const named = cancel.timeGiven ? candidates.findLast((one) => one.atMs === cancel.atMs) : undefined;
    const target = named ?? candidates.at(-1);
    if (target !== undefined) out.add(target.key);
  }
  return out;
}

/** Where each number leads once every merge is done. Of merges that run in a circle the last one told is left out. */
function mergedNumbers(events: readonly PatientEvent[]): (name: string) => string {
  const into = new Map<string, string>();
  const end = (name: string): string => {
    let at = name;
    for (let next = into.get(at); next !== undefined; next = into.get(at)) at = next;
    return at;
  };
  for (const { identifier, retired } of events.filter((one) => one.happening === 'merged').sort(asTold)) {
    if (retired === undefined) continue;
    const from = end(nameOf(retired));
    const to = end(nameOf(identifier));
    if (from !== to) into.set(from, to);
  }
  return end;
}

interface StayInMaking {
  visit: string;
  admittedAtMs?: number;
  dischargedAtMs?: number;
  onLeave: boolean;
  places: (FeedPlace & { fromMs: number })[];
}

/** @returns patients in order of their number; each with its stays in order of their beginning */
export function feedPatients(events: readonly PatientEvent[]): readonly FeedPatient[] {
  const once = [...new Map(events.map((event) => [event.key, event])).values()];
  const leadsTo = mergedNumbers(once);
  const cancelled = cancelledKeys(once, leadsTo);
  const byPatient = new Map<string, PatientEvent[]>();
  const numbers = new Map<string, FeedIdentifier>();
  for (const event of once.sort(inOrder)) {
    for (const number of [event.identifier, event.retired])
      if (number !== undefined) numbers.set(nameOf(number), number);
    const patient = leadsTo(nameOf(event.identifier));
    const held = byPatient.get(patient);
    if (held) held.push(event);
    else byPatient.set(patient, [event]);
  }
  const retiredOf = new Map<string, FeedIdentifier[]>();
  for (const [name, number] of [...numbers].sort(([a], [b]) => (a < b ? -1 : 1))) {
    const survivor = leadsTo(name);
    if (survivor !== name) retiredOf.set(survivor, [...(retiredOf.get(survivor) ?? []), number]);
  }
  return [...byPatient]
    .sort(([a], [b]) => (a < b ? -1 : 1))
    .map(([name, own]) => ({
      identifier: numbers.get(name) as FeedIdentifier,
      retired: retiredOf.get(name) ?? [],
      person: personOf(own, name),
      stays: staysOf(own.filter((one) => !cancelled.has(one.key))),
    }));
}

/** What was said last of each; what a retired number's messages said only where the surviving one's said nothing. */
function personOf(events: readonly PatientEvent[], name: string): FeedPerson {
  const isOwn = (event: PatientEvent): boolean => nameOf(event.identifier) === name;
  const said = [...events.filter((one) => !isOwn(one)), ...events.filter(isOwn)];
  return said.reduce<FeedPerson>((person, event) => ({ ...person, ...event.person }), {});
}

function staysOf(events: readonly PatientEvent[]): readonly FeedStay[] {
  const stays = new Map<string, StayInMaking>();
  // A message without the number of a stay is about the one that is open then; an admission after a discharge begins one.
  let open = '';
  for (const event of events) {
    if (event.happening === 'merged' || event.happening in cancels) continue;
    const past = stays.get(open)?.dischargedAtMs !== undefined && event.happening === 'admitted';
    const visit = event.visit ?? (past ? `since ${event.atMs}` : open);
    const known = stays.get(visit);
    if (known === undefined && event.happening === 'updated' && event.place === undefined) continue;
    const stay = known ?? { visit, onLeave: false, places: [] };
    stays.set(visit, stay);
    open = visit;
    if (event.happening === 'admitted') stay.admittedAtMs ??= event.atMs;
    if (event.happening === 'discharged') stay.dischargedAtMs = event.atMs;
    if (event.happening === 'left-on-leave') stay.onLeave = true;
    if (event.happening === 'back-from-leave') stay.onLeave = false;
    const last = stay.places.at(-1);
    const { place } = event;
    // Where somebody was when they left is no move.
    if (place === undefined || event.happening === 'discharged') continue;
    if (last?.ward === place.ward && last.room === place.room && last.bed === place.bed) continue;
    stay.places.push({ ...place, fromMs: event.atMs });
  }
  return [...stays.values()];
}
