/**
 * What the record has to take in so that it says of a patient what the feed says: registered, moved, told of leaving, and
 * what the feed has taken back. Ids follow from what they say, so that working it out again adds nothing.
 *
 * Domain    only what the feed itself wrote is ever taken back; what people wrote stands
 * Not for   closing a watch: that the hospital's system has discharged somebody does not say that nobody need look any more
 * Errors    none; a patient who was never on a ward of ours gives nothing
 */
import { instantOfMs, uuidOfText } from '@ebbline/core/quantity';
import type { Entry, EntryKind, PayloadOf } from '@ebbline/core/record';
import type { FeedPatient } from './feed-patients.ts';
import type { FeedIdentifier, FeedPlace } from './patient-event.ts';

export interface FeedEntriesInput {
  readonly patient: FeedPatient;
  /** Every entry of this patient's record that is kept already. */
  readonly have: readonly Entry[];
  readonly organisation: string;
  /** The ward of ours that a place is on; nothing for a ward that does not use this record. */
  readonly wardOf: (place: FeedPlace) => string | undefined;
  /** Whom the entries name as their author, and the wire by which they came. */
  readonly author: string;
  readonly madeOn: string;
  readonly nowMs: number;
}

/**
 * What brings everything that stands in the record of a retired number into that of the surviving one. Each entry is moved
 * by an entry of its own, so that a move can be seen and taken back; who and where the retired number was is struck out.
 *
 * @param have entries of the retired record and those that name them
 */
export function mergeEntries(input: {
  readonly retired: FeedIdentifier;
  readonly survivor: FeedIdentifier;
  readonly have: readonly Entry[];
  readonly organisation: string;
  readonly author: string;
  readonly madeOn: string;
  readonly nowMs: number;
}): readonly Entry[] {
  const { retired, survivor, have, organisation, author, madeOn, nowMs } = input;
  const record = recordOf(retired);
  const toPatient = recordOf(survivor);
  const known = new Set(have.map(({ id }) => id));
  const at = instantOfMs(nowMs);
  return have
    .filter((entry) => entry.patient === record)
    .flatMap((entry): readonly Entry[] => {
      const { kind } = entry;
      if (kind === 'withdrawn' || kind === 'moved-to-patient') return [];
      const placed = kind === 'patient-registered' || kind === 'transferred';
      const own = entry.author === author && entry.madeOn === madeOn;
      // The feed tells anew, in the surviving record, what it told in this one.
      const strike = placed || own;
      const id = uuidOfText(`feed|${strike ? 'struck' : `moved|${toPatient}`}|${entry.id}`);
      if (known.has(id)) return [];
      const envelope = {
        id,
        organisation,
        patient: record,
        effectiveAt: at,
        timeQuality: 'exact' as const,
        recordedAt: at,
        author,
        madeOn,
      };
      return strike
        ? [
            {
              ...envelope,
              kind: 'withdrawn',
              payload: { of: entry.id, reason: 'duplicate', note: mergedNote },
            },
          ]
        : [
            {
              ...envelope,
              kind: 'moved-to-patient',
              payload: { of: entry.id, toPatient, reason: 'other', note: mergedNote },
            },
          ];
    });
}

const mergedNote = "The hospital's system says that two numbers are one person.";

/** The record's name for a patient whom a feed knows by this number. */
export const recordOf = ({ system, value }: FeedIdentifier): string => uuidOfText(`feed|${system}|${value}`);

/** In whose name a feed speaks where the record asks who. */
const said = "The hospital's system";
const unnamed = 'Not named';
// What the record takes (core/record/kinds.ts).
const longestName = 80;
const longestSystem = 120;
const longestBed = 20;

type Wanted = {
  readonly [K in EntryKind]: { kind: K; payload: PayloadOf<K>; atMs: number; name: string };
}[EntryKind];

function wantedOf({ patient, wardOf, have, author }: FeedEntriesInput): readonly Wanted[] {
  const places = patient.stays
    .flatMap(({ places: own, visit }) =>
      own.map((place) => ({ ...place, visit, ward: wardOf(place), feed: place.ward })),
    )
    .sort((a, b) => a.fromMs - b.fromMs);
  const begins = places.findIndex(({ ward }) => ward !== undefined);
  if (begins < 0) return [];
  const { person, identifier } = patient;
  const othersRegistered = have.some((one) => one.kind === 'patient-registered' && one.author !== author);
  const wanted: Wanted[] = [];
  for (const [at, { ward, bed, room, fromMs, visit, feed }] of places.slice(begins).entries()) {
    const where = { ward: ward ?? '', bed: (bed || room || '?').slice(0, longestBed) };
    const name = `${visit}|${fromMs}|${feed}|${room}|${bed}`;
    if (ward === undefined)
      wanted.push({
        kind: 'told',
        payload: { who: said, what: 'Moved to a ward that does not use this record.' },
        atMs: fromMs,
        name,
      });
    else if (at === 0 && !othersRegistered)
      wanted.push({
        kind: 'patient-registered',
        payload: {
          familyName: (person.familyName || unnamed).slice(0, longestName),
          givenName: (person.givenName || unnamed).slice(0, longestName),
          ...(person.birthDate ? { birthDate: person.birthDate } : {}),
          sex: person.sex ?? 'unknown',
          identifierSystem: (identifier.system || 'unknown').slice(0, longestSystem),
          identifierValue: identifier.value,
          ...where,
        },
        atMs: fromMs,
        name,
      });
    else wanted.push({ kind: 'transferred', payload: where, atMs: fromMs, name });
  }
  for (const { dischargedAtMs, visit } of patient.stays)
    if (dischargedAtMs !== undefined && dischargedAtMs >= (places[begins]?.fromMs ?? 0))
      wanted.push({
        kind: 'told',
        payload: { who: said, what: 'Discharged. Close the watch, or say why it goes on.' },
        atMs: dischargedAtMs,
        name: `${visit}|${dischargedAtMs}|discharged`,
      });
  return wanted;
}

export function feedEntries(input: FeedEntriesInput): readonly Entry[] {
  const { patient, have, organisation, author, madeOn, nowMs } = input;
  const record = recordOf(patient.identifier);
  const byId = new Map(have.map((entry) => [entry.id, entry]));
  const out: Entry[] = [];
  const add = (wanted: Omit<Wanted, 'name'>, id: string): void => {
    const entry = {
      id,
      organisation,
      patient: record,
      kind: wanted.kind,
      // A feed whose clock runs ahead tells of something that has happened, not of something to come.
      effectiveAt: instantOfMs(Math.min(nowMs, wanted.atMs)),
      timeQuality: 'exact',
      recordedAt: instantOfMs(nowMs),
      author,
      madeOn,
      payload: wanted.payload,
    } as Entry;
    byId.set(id, entry);
    out.push(entry);
  };
  /** What takes an entry back, what takes that back, and so on; the last that is there. */
  const takeBack = (id: string): string => uuidOfText(`feed|withdrawn|${id}`);
  const chainOf = (id: string): { readonly last: string; readonly stands: boolean } => {
    let last = id;
    let stands = true;
    for (let next = takeBack(last); byId.has(next); next = takeBack(next)) {
      last = next;
      stands = !stands;
    }
    return { last, stands };
  };
  const turn = (id: string): void => {
    const { last } = chainOf(id);
    add({ kind: 'withdrawn', payload: { of: last, reason: 'other' }, atMs: nowMs } as Wanted, takeBack(last));
  };

  const wantedIds = new Set<string>();
  for (const one of wantedOf(input)) {
    // What it says is part of its name: a registration under another name of the person is another one.
    const id = uuidOfText(`feed|${record}|${one.kind}|${one.name}|${JSON.stringify(sorted(one.payload))}`);
    wantedIds.add(id);
    if (!byId.has(id)) add(one, id);
    else if (!chainOf(id).stands) turn(id);
  }
  for (const entry of have) {
    const own = entry.author === author && entry.madeOn === madeOn && entry.patient === record;
    const placed =
      entry.kind === 'patient-registered' || entry.kind === 'transferred' || entry.kind === 'told';
    if (own && placed && !wantedIds.has(entry.id) && chainOf(entry.id).stands) turn(entry.id);
  }
  return out;
}

const sorted = (payload: object): readonly (readonly [string, unknown])[] =>
  Object.entries(payload).sort(([a], [b]) => (a < b ? -1 : 1));
