/**
 * Who did what with one patient's record, and what one person looked at: the audit's notes and, of a patient, the entries
 * themselves, in one list, newest first by when it happened.
 */
import { unusualAbout, whereaboutsOf, type UnusualMark, type Whereabouts } from '@ebbline/core/facts';
import { instantMs, instantOfMs } from '@ebbline/core/quantity';
import { auditWords, recordedAs, recordedWords, unusualWords } from '@ebbline/core/present';
import type { KeptEntry } from '@ebbline/core/record';
import { happenedAt, type AuditRow } from '@ebbline/store';
import type { Parts } from '../parts.ts';

export type LookKind = 'looked' | 'recorded' | 'corrected' | 'taken-out' | 'other';

export interface LookLine {
  /** Of use as the place to go on from. */
  readonly cursor: string;
  readonly happenedAt: string;
  readonly receivedAt: string;
  readonly person: { readonly id: string; readonly name: string; readonly role: string };
  readonly kind: LookKind;
  readonly what: string;
  readonly tablet?: string;
  /** The patient's ward then, or the ward that was shown, by name. */
  readonly ward?: string;
  readonly patient?: { readonly id: string; readonly label: string };
  readonly unusual: readonly { readonly mark: UnusualMark; readonly words: string }[];
}

export interface LooksAsked {
  readonly from?: string | undefined;
  readonly until?: string | undefined;
  readonly before?: string | undefined;
  readonly limit: number;
}

export interface LookPage {
  readonly lines: readonly LookLine[];
  /** Give it as `before` to read on; absent at the end. */
  readonly next?: string;
}

const kindOf = (row: AuditRow): LookKind =>
  row.action === 'viewed' || row.action === 'read'
    ? 'looked'
    : row.action === 'exported'
      ? 'taken-out'
      : 'other';

/** A row's place in the list: when, then notes before entries, then by sequence. */
interface Place {
  readonly at: string;
  readonly of: 'note' | 'entry';
  readonly sequence: number;
}
const cursorOf = ({ at, of, sequence }: Place): string => `${at}_${of}_${sequence}`;
const cursorText = /^(\d{4}-\d\d-\d\dT\d\d:\d\d:\d\d(?:\.\d{1,9})?Z)_(note|entry)_(\d{1,15})$/;
export const isCursor = (text: string): boolean => cursorText.test(text);
function placeOf(cursor: string | undefined): Place | undefined {
  const match = cursor === undefined ? undefined : cursorText.exec(cursor);
  return match
    ? { at: match[1] as string, of: match[2] as Place['of'], sequence: Number(match[3]) }
    : undefined;
}
const isAfter = (one: Place, than: Place): boolean =>
  one.at !== than.at
    ? one.at < than.at
    : one.of !== than.of
      ? than.of === 'note'
      : one.sequence < than.sequence;

type Line = readonly [Place, LookLine];

export function createWhoLooked({ store, directory, finder }: Pick<Parts, 'store' | 'directory' | 'finder'>) {
  const personOf = (id: string): LookLine['person'] => {
    const person = directory.person(id);
    return { id, name: person?.name ?? id, role: person?.role ?? '' };
  };
  const wardName = (id: string | undefined): string | undefined =>
    id === undefined ? undefined : (directory.current().wards.find((ward) => ward.id === id)?.name ?? id);

  const lineOfNote = async (row: AuditRow, where: Whereabouts | undefined): Promise<Line> => {
    const at = instantOfMs(instantMs(happenedAt(row)));
    const atMs = instantMs(at);
    const place: Place = { at: happenedAt(row), of: 'note', sequence: row.sequence };
    const ward = wardName(where?.wardAt(atMs) ?? row.detail?.ward);
    const marks = unusualAbout(
      {
        person: row.actor,
        atMs,
        heardAtMs: instantMs(row.at),
        wards: row.detail?.actorWards ?? directory.person(row.actor)?.wards ?? [],
        carriedBy: row.detail?.carriedBy,
      },
      where,
    );
    const found = row.patient === undefined ? undefined : await finder.byId(row.patient);
    return [
      place,
      {
        cursor: cursorOf(place),
        happenedAt: at,
        receivedAt: row.at,
        person: personOf(row.actor),
        kind: kindOf(row),
        what: auditWords(row.action, row.subject, row.detail?.way),
        ...(row.detail?.tablet === undefined ? {} : { tablet: row.detail.tablet }),
        ...(ward === undefined ? {} : { ward }),
        ...(row.patient === undefined
          ? {}
          : {
              patient: {
                id: row.patient,
                label: found ? `${found.familyName}, ${found.givenName}` : row.patient,
              },
            }),
        unusual: marks.map((mark) => ({ mark, words: unusualWords[mark] })),
      },
    ];
  };

  const lineOfEntry = ({ entry, receivedAt, sequence }: KeptEntry, where: Whereabouts): Line => {
    const heardAtMs = instantMs(receivedAt);
    // A tablet whose clock is ahead can't have recorded it later than it was heard.
    const atMs = Math.min(instantMs(entry.recordedAt), heardAtMs);
    const place: Place = { at: instantOfMs(atMs), of: 'entry', sequence };
    const as = recordedAs(entry.kind, entry.corrects !== undefined);
    const ward = wardName(where.wardAt(atMs));
    const marks = unusualAbout(
      { person: entry.author, atMs, heardAtMs, wards: directory.person(entry.author)?.wards ?? [] },
      where,
    );
    return [
      place,
      {
        cursor: cursorOf(place),
        happenedAt: place.at,
        receivedAt,
        person: personOf(entry.author),
        kind: as === 'recorded' ? 'recorded' : 'corrected',
        what: recordedWords(entry.kind, entry.corrects !== undefined),
        tablet: entry.madeOn,
        ...(ward === undefined ? {} : { ward }),
        unusual: marks.map((mark) => ({ mark, words: unusualWords[mark] })),
      },
    ];
  };

  const page = (lines: readonly Line[], limit: number): LookPage => {
    const sorted = lines
      .toSorted(([a], [b]) => (isAfter(a, b) ? 1 : -1))
      .slice(0, limit)
      .map(([, line]) => line);
    const last = sorted.at(-1);
    return lines.length > limit && last ? { lines: sorted, next: last.cursor } : { lines: sorted };
  };
  /** One more than asked for tells whether there is another page. */
  const notePage = ({ from, until, limit }: LooksAsked, before: Place | undefined) => ({
    limit: limit + 1,
    ...(from === undefined ? {} : { from }),
    ...(until === undefined ? {} : { until }),
    ...(before === undefined
      ? {}
      : {
          // Of the instant of an entry every note was given already.
          olderThan: { happenedAt: before.at, sequence: before.of === 'note' ? before.sequence : 0 },
        }),
  });

  return {
    /** What the protocol answered by itself is left out: it is filed with what somebody recorded. */
    ofPatient: async (patient: string, asked: LooksAsked): Promise<LookPage> => {
      const before = placeOf(asked.before);
      const kept = await store.ofPatient(patient);
      const where = whereaboutsOf(
        patient,
        kept.map(({ entry }) => entry),
      );
      const recorded = kept
        .filter(({ entry }) => entry.kind !== 'step-advised')
        .map((one) => lineOfEntry(one, where))
        .filter(
          ([place]) =>
            (asked.from === undefined || place.at >= asked.from) &&
            (asked.until === undefined || place.at < asked.until) &&
            (before === undefined || isAfter(place, before)),
        );
      const notes = await store.notesOfPatient(patient, notePage(asked, before));
      const looked = await Promise.all(notes.map((row) => lineOfNote(row, where)));
      return page([...looked, ...recorded], asked.limit);
    },

    /** Looks, prints, exports and sign-ins of one person; what was recorded stands with each patient. */
    ofPerson: async (person: string, asked: LooksAsked): Promise<LookPage> => {
      const notes = await store.notesOfActor(person, notePage(asked, placeOf(asked.before)));
      const places = new Map<string, Promise<Whereabouts>>();
      const whereOf = (patient: string): Promise<Whereabouts> => {
        const known =
          places.get(patient) ??
          store.ofPatient(patient).then((kept) =>
            whereaboutsOf(
              patient,
              kept.map(({ entry }) => entry),
            ),
          );
        places.set(patient, known);
        return known;
      };
      const lines = await Promise.all(
        notes.map(async (row) =>
          lineOfNote(row, row.patient === undefined ? undefined : await whereOf(row.patient)),
        ),
      );
      return page(lines, asked.limit);
    },
  };
}

export type WhoLooked = ReturnType<typeof createWhoLooked>;
