/**
 * The hospital's patient messages: kept, answered, and brought into the record. What the record then says depends on which
 * messages came, not on their order or how often (interop/hl7v2).
 *
 *     bytes → kept on the disk → answer AA → patients whom they concern worked out anew → entries → store
 *
 * After a restart what was kept and not yet brought in is brought in.
 *
 * Errors    none are thrown at the sender: every message that can be kept is answered, AR with its place where it can't be used
 */
import { instantOfMs, isRefusal, orThrow, type Refusal } from '@ebbline/core/quantity';
import { checkEntry, type Entry, type Ward } from '@ebbline/core/record';
import {
  answerTo,
  decodeMessage,
  feedEntries,
  feedPatients,
  mergeEntries,
  readMessage,
  readPatientEvents,
  recordOf,
  writeMessage,
  type Fault,
  type FeedIdentifier,
  type FeedPlace,
  type Message,
  type PatientEvent,
} from '@ebbline/interop/hl7v2';
import type { EntryStore } from '@ebbline/store';
import type { FeedBook, FeedMessage } from './feed-book.ts';

export interface FeedSettings {
  /** Name of the feed; with it its entries are signed. */
  readonly name: string;
  /** Wall clock of times without an offset. */
  readonly zone: string;
  /** A name of HL7 table 0211. */
  readonly characters?: string;
  readonly identifierTypes?: readonly string[];
  /** What the feed calls our wards, where that is not their id or name. */
  readonly wards?: Readonly<Record<string, string>>;
}

export interface PatientFeedParts {
  readonly book: FeedBook;
  readonly store: EntryStore;
  readonly wards: () => readonly Ward[];
  readonly settings: FeedSettings;
  readonly now: () => number;
  /** Told when entries could not be brought in; they are tried again with the next message and at a start. */
  readonly failed?: (problem: unknown) => void;
}

/** What became of a message, in words for a list; never a name, a number or a value of it. */
export interface FeedOutcome {
  readonly number: number;
  readonly receivedAt: string;
  readonly state: 'used' | 'refused';
  readonly type: string;
  readonly words: string;
  readonly code?: string;
}

export interface PatientFeed {
  /** @returns the bytes of the answer; rejects when the message could not be kept */
  take(bytes: Uint8Array): Promise<Uint8Array>;
  /** Brings in what was kept and not brought in. Resolves when all is. */
  settle(): Promise<void>;
  outcomes(after: number, limit: number): Promise<readonly FeedOutcome[]>;
  /** How many messages were kept. */
  head(): Promise<number>;
  /** Brings in what is left, and no longer looks at what others write. */
  close(): Promise<void>;
}

const pageSize = 500;
/** Messages that come within so long are brought in together. */
const gatherMs = 100;
const bookmarkEvery = 200;
const numberOf = ({ system, value }: FeedIdentifier): string => `${system}|${value}`;

type ReadAs =
  | { readonly message: Message; readonly events: readonly PatientEvent[] }
  | { readonly message: Message | undefined; readonly refusal: Refusal };

const faultOf: Readonly<Record<string, Fault>> = {
  'hl7/field-missing': 'field-missing',
  'hl7/unknown-event': 'unknown-event',
  'hl7/not-about-patients': 'unknown-type',
  'hl7/time': 'wrong-type',
  'hl7/number-too-long': 'wrong-type',
  'hl7/segment': 'segment-order',
  'hl7/no-header': 'segment-order',
  'hl7/delimiters': 'segment-order',
  'hl7/characters': 'wrong-type',
};

export function openPatientFeed(parts: PatientFeedParts): PatientFeed {
  const { book, store, settings, now, failed = () => undefined } = parts;
  const mark = `feed:${settings.name}`;
  const author = `feed-${settings.name}`;
  /** Events by each number that they name. */
  const byNumber = new Map<string, Set<PatientEvent>>();
  /** Read from the book up to here; of those, what is not in the record yet. */
  let known = 0;
  const toBringIn = new Map<number, readonly PatientEvent[]>();
  let followed = 0;
  let run: Promise<void> = Promise.resolve();

  const read = (bytes: Uint8Array): ReadAs => {
    const decoded = decodeMessage(bytes, settings.characters);
    if (isRefusal(decoded)) return { message: undefined, refusal: decoded };
    const message = readMessage(decoded.text);
    if (isRefusal(message)) return { message: undefined, refusal: message };
    const events = readPatientEvents(message, settings);
    return isRefusal(events) ? { message, refusal: events } : { message, events };
  };

  const learn = (events: readonly PatientEvent[]): void => {
    for (const event of events)
      for (const identifier of [event.identifier, event.retired]) {
        if (identifier === undefined) continue;
        const held = byNumber.get(numberOf(identifier)) ?? new Set();
        byNumber.set(numberOf(identifier), held.add(event));
      }
  };

  /** All events about the patients of these, through every merge. */
  const about = (events: readonly PatientEvent[]): readonly PatientEvent[] => {
    const found = new Set<PatientEvent>();
    const next = [...events];
    for (let event = next.pop(); event !== undefined; event = next.pop()) {
      if (found.has(event)) continue;
      found.add(event);
      for (const identifier of [event.identifier, event.retired])
        if (identifier !== undefined) next.push(...(byNumber.get(numberOf(identifier)) ?? []));
    }
    return [...found];
  };

  const wardOf = ({ ward }: FeedPlace): string | undefined => {
    const wanted = settings.wards?.[ward] ?? ward;
    const same = (text: string): boolean => text.toLowerCase() === wanted.toLowerCase();
    return parts.wards().find(({ id, name }) => same(id) || same(name))?.id;
  };

  /** Records whose number was retired, and the number that survives. */
  const survivors = new Map<
    string,
    { readonly retired: FeedIdentifier; readonly survivor: FeedIdentifier }
  >();

  const keep = async (entries: readonly Entry[], nowMs: number): Promise<void> => {
    for (const entry of entries) orThrow(checkEntry(entry, nowMs));
    if (entries.length > 0) await store.append(entries, { receivedAt: instantOfMs(nowMs), actor: author });
  };
  const signed = (nowMs: number) => ({ organisation: store.organisation, author, madeOn: author, nowMs });
  const entriesOf = async (patient: string): Promise<readonly Entry[]> =>
    (await store.ofPatient(patient)).map(({ entry }) => entry);

  const bringIn = async (events: readonly PatientEvent[], nowMs: number): Promise<void> => {
    const wanted: Entry[] = [];
    for (const patient of feedPatients(about(events))) {
      const have = await entriesOf(recordOf(patient.identifier));
      wanted.push(...feedEntries({ patient, have, wardOf, ...signed(nowMs) }));
      for (const retired of patient.retired) {
        const merge = { retired, survivor: patient.identifier };
        survivors.set(recordOf(retired), merge);
        wanted.push(
          ...mergeEntries({ ...merge, have: await entriesOf(recordOf(retired)), ...signed(nowMs) }),
        );
      }
    }
    // What came close together is brought in together: one commit, not one a patient.
    await keep(wanted, nowMs);
  };

  /** What a tablet wrote under a retired number, after the merge, follows to the surviving one. */
  const follow = async (nowMs: number): Promise<void> => {
    for (let more = true; more;) {
      const page = await store.after(followed, pageSize);
      const late = new Set(
        page.map(({ entry }) => entry.patient).filter((patient) => survivors.has(patient)),
      );
      for (const record of late) {
        const merge = survivors.get(record);
        if (merge !== undefined)
          await keep(mergeEntries({ ...merge, have: await entriesOf(record), ...signed(nowMs) }), nowMs);
      }
      followed = page.at(-1)?.sequence ?? followed;
      more = page.length === pageSize;
    }
  };

  const settleAll = async (): Promise<void> => {
    const done = await store.bookmark(mark);
    for (;;) {
      const page = (await book.after(known, pageSize)).filter((one) => one.number > known);
      if (page.length === 0) break;
      for (const { number, feed, bytes } of page) {
        known = number;
        const as = feed === settings.name ? read(bytes) : undefined;
        if (as === undefined || !('events' in as)) continue;
        learn(as.events);
        // Merges are looked at again after a restart: what was written under a retired number meanwhile follows.
        const merges = as.events.some(({ happening }) => happening === 'merged');
        if (number > done || merges) toBringIn.set(number, as.events);
      }
    }
    const some = [...toBringIn.keys()];
    await bringIn([...toBringIn.values()].flat(), now());
    if (survivors.size > 0) await follow(now());
    for (const number of some) toBringIn.delete(number);
    // Bringing in again adds nothing: how far it got is put down now and then, and at a stop.
    if (known - done >= bookmarkEvery) await store.setBookmark(mark, known);
  };
  const settle = (): Promise<void> => {
    run = run.catch(() => undefined).then(settleAll);
    return run;
  };

  let soon: ReturnType<typeof setTimeout> | undefined;
  const settleSoon = (): void => {
    soon ??= setTimeout(() => {
      soon = undefined;
      settle().catch(failed);
    }, gatherMs);
  };
  const letGo = store.onAppended(() => {
    if (survivors.size > 0) settleSoon();
  });

  let answers = 0;
  const answerFor = (kept: FeedMessage, as: ReadAs, nowMs: number): Uint8Array => {
    answers += 1;
    const text = writeMessage(
      answerTo(as.message, {
        code: 'refusal' in as ? 'AR' : 'AA',
        controlId: `${kept.number}-${answers}`,
        atMs: nowMs,
        zone: settings.zone,
        ...('refusal' in as
          ? {
              fault: {
                what: faultOf[as.refusal.code] ?? 'inside',
                words: `${as.refusal.found}; ${as.refusal.todo}`,
                ...(as.refusal.where === undefined || !/^[A-Z0-9]{3}-?\d*$/.test(as.refusal.where)
                  ? {}
                  : { at: as.refusal.where }),
              },
            }
          : {}),
      }),
    );
    return new TextEncoder().encode(text);
  };

  return {
    take: async (bytes) => {
      const nowMs = now();
      // Kept first: an answer that it was taken, and then nothing on the disk, would lose it.
      const kept = await book.add(settings.name, bytes, instantOfMs(nowMs));
      const as = read(bytes);
      if ('events' in as) settleSoon();
      return answerFor(kept, as, nowMs);
    },
    settle,
    head: () => book.head(),
    close: async () => {
      clearTimeout(soon);
      letGo();
      await settle();
      await store.setBookmark(mark, known);
    },
    outcomes: async (after, limit) =>
      (await book.after(after, limit))
        .filter(({ feed }) => feed === settings.name)
        .map(({ number, receivedAt, bytes }) => {
          const as = read(bytes);
          const header = as.message?.segments[0];
          const type = (header?.fields[8] ?? '').replaceAll(/[^A-Z0-9]+/g, ' ').trim();
          return 'refusal' in as
            ? {
                number,
                receivedAt,
                state: 'refused',
                type,
                words: `${as.refusal.found}. ${as.refusal.todo}`,
                code: as.refusal.code,
              }
            : { number, receivedAt, state: 'used', type, words: wordsOf(as.events) };
        }),
  };
}

const happened: Readonly<Record<PatientEvent['happening'], string>> = {
  admitted: 'Somebody came in',
  transferred: 'Somebody moved',
  discharged: 'Somebody left',
  updated: 'Something about somebody was put right',
  'admission-cancelled': 'An admission was taken back',
  'transfer-cancelled': 'A move was taken back',
  'discharge-cancelled': 'A discharge was taken back',
  'left-on-leave': 'Somebody went on leave',
  'back-from-leave': 'Somebody came back from leave',
  merged: 'Two numbers are one person',
};
const wordsOf = (events: readonly PatientEvent[]): string =>
  `${happened[events[0]?.happening ?? 'updated']}${events.length > 1 ? ', and somebody else too' : ''}.`;
