/**
 * The replica of this tablet: entries in the browser's store, facts folded from them, a queue that is sent when
 * the ward's record can be reached.
 */
import {
  controlIsOn,
  instantOfMs,
  isRefusal,
  minuteMs,
  refuse,
  uuidV7,
  type EntryId,
  type Refusal,
} from '@ebbline/core/quantity';
import { checkEntry, mayWrite, type Directory, type Entry, type Person } from '@ebbline/core/record';
import { pageTimers, type Timers } from './clock.ts';
import { foldedRecord } from './folded-record.ts';
import type { LocalStore } from './local-store.ts';
import type { Answer, ProtocolShelf, Remote } from './remote.ts';
import type { Draft, NetworkState, RefusedEntry, Replica } from './replica.ts';
import { startSync, type Sync, type SyncHost } from './sync.ts';

/** Away for so long is worth asking what changed meanwhile. S-common-practice */
const worthTellingMs = 5 * minuteMs;
/** Name of the note of since when the record has not been reached; 0 while it is. */
const awayNote = 'away-since';
const manyAtOnce = 50;
const manyAtOnceMs = 150;

export interface ReplicaOptions {
  readonly me: Person;
  readonly directory: Directory;
  readonly store: LocalStore;
  readonly remote: Remote;
  /** Name of this tablet in the record. */
  readonly madeOn: string;
  readonly now: () => number;
  readonly random: (count: number) => ArrayLike<number>;
  readonly jitter: () => number;
  /** Default: the page's own. */
  readonly timers?: Timers;
  /** Called when the ward's record no longer knows this sign-in. */
  readonly onSignedOut: () => void;
  /** Hands on what is sealed and not sent otherwise; gives the ids that are settled. */
  readonly carry?: SyncHost['carry'];
}

export interface OpenReplica extends Replica {
  /** Begins to send and to listen; nothing happens when it does already. */
  start(): void;
  /** Neither sends nor listens until `start`; what is here stays. */
  pause(): void;
  /** Folds again when the minute has turned. */
  tick(): void;
  close(): void;
}

export async function openReplica(options: ReplicaOptions): Promise<OpenReplica> {
  const { me, store, remote, now, timers = pageTimers } = options;
  let directory = options.directory;
  const record = foldedRecord({ directory, nowMs: now });
  record.add(await store.entries());
  const unsent = new Map((await store.waiting()).map((one) => [one.id, one]));
  let refused: readonly RefusedEntry[] = await store.refused();
  /** Of this person, on the server: carried, and not taken by the record. */
  let held: readonly RefusedEntry[] = [];
  let shelf: ProtocolShelf = (await store.note<ProtocolShelf>('protocols')) ?? { acts: 0, versions: [] };
  let readingShelf = false;
  let heardAtMs: number | undefined;
  let awaySinceMs: number | undefined;
  let lastAway: NetworkState['lastAway'];
  // A server that comes back knows no sign-in: the tablet is opened anew, and still tells since when it was away.
  let awayBeforeMs = (await store.note<number>(awayNote).catch(() => undefined)) || undefined;
  // A tablet that holds entries already shows them at once; an empty one would show a ward with nobody in it.
  let reading = record.entries().length === 0;
  let network: NetworkState | undefined;
  let sync: Sync | undefined;
  const listeners = new Set<() => void>();

  const tell = (): void => {
    network = undefined;
    for (const listener of listeners) listener();
  };

  let telling: unknown;
  /** After a page of many entries: more will follow, so that the screen is drawn once for several. */
  const tellSoon = (): void => {
    telling ??= timers.set(() => {
      telling = undefined;
      tell();
    }, manyAtOnceMs);
  };

  const whole = (draft: Draft, atMs: number): Entry | Refusal => {
    if (!mayWrite(me.role, draft.kind) && controlIsOn('H15-role')) {
      return refuse('record/not-yours', {
        asked: 'Entry',
        found: `${draft.kind} by ${me.role}`,
        allowed: 'what this role may record',
        todo: 'Ask a nurse to record it, or sign in with the right role.',
      });
    }
    const recordedAt = instantOfMs(atMs);
    return checkEntry(
      {
        id: draft.id ?? uuidV7(atMs, options.random(10)),
        organisation: directory.organisation,
        patient: draft.patient,
        kind: draft.kind,
        effectiveAt: draft.effectiveAt ?? recordedAt,
        timeQuality: draft.timeQuality ?? 'exact',
        recordedAt,
        author: me.id,
        madeOn: options.madeOn,
        ...(draft.corrects === undefined ? {} : { corrects: draft.corrects }),
        ...(draft.copiedFrom === undefined ? {} : { copiedFrom: draft.copiedFrom }),
        payload: draft.payload,
      },
      atMs,
    );
  };

  const replica: OpenReplica = {
    me,
    directory: () => directory,
    entries: record.entries,
    entriesOf: record.entriesOf,
    patients: record.patients,
    factsOf: record.factsOf,
    factsWith: record.factsWith,
    ward: record.ward,
    newId: () => uuidV7(now(), options.random(10)),
    prepare: (drafts) => {
      const atMs = now();
      const entries: Entry[] = [];
      for (const draft of drafts) {
        const entry = whole(draft, atMs);
        if (isRefusal(entry)) return entry;
        entries.push(entry);
      }
      return entries;
    },
    record: async (drafts) => {
      const entries = replica.prepare(drafts);
      if (isRefusal(entries)) return entries;
      // Before they are kept: the queue may be read, and they be sent, before the news of it is here.
      for (const entry of entries) unsent.set(entry.id, entry);
      try {
        await store.keepOwn(entries);
      } catch {
        for (const entry of entries) unsent.delete(entry.id);
        return refuse('web/not-kept', {
          asked: 'Entry',
          found: 'this browser could not keep it',
          allowed: 'an entry that is kept on this tablet',
          todo: 'Nothing was saved. Free some space or use another tablet, and write it on paper until then.',
        });
      }
      record.add(entries);
      tell();
      sync?.nudge();
      return entries;
    },
    undo: async (ids) => {
      const drafts: Draft[] = [];
      for (const id of ids) {
        const entry = record.entries().find((one) => one.id === id);
        if (entry)
          drafts.push({ patient: entry.patient, kind: 'withdrawn', payload: { of: id, reason: 'typing' } });
      }
      const done = await replica.record(drafts);
      if (isRefusal(done)) throw new Error(done.code);
    },
    waiting: () => unsent.size,
    network: () =>
      (network ??= {
        online: awaySinceMs === undefined,
        reading,
        ...(awaySinceMs === undefined ? {} : { awaySinceMs }),
        ...(lastAway === undefined ? {} : { lastAway }),
        waiting: unsent.size,
        waitingOwn: [...unsent.values()].filter((entry) => entry.author === me.id).length,
        waitingFor: [
          ...new Set([...unsent.values()].map((entry) => entry.author).filter((author) => author !== me.id)),
        ],
        refused: [...refused, ...held],
      }),
    dismissRefused: async (id: EntryId) => {
      if (held.some((one) => one.entry.id === id)) {
        await remote.settleHeld(id, 'dismissed');
        return refreshHeld();
      }
      await store.drop(id);
      refused = refused.filter((one) => one.entry.id !== id);
      record.remove(id);
      tell();
    },
    claimHeld: async (id: EntryId) => {
      const refusal = decided(await remote.settleHeld(id, 'mine'));
      await refreshHeld();
      return refusal;
    },
    sourceAgeMs: () => (heardAtMs === undefined ? undefined : Math.max(0, now() - heardAtMs)),
    practice: async () => {
      const answer = await remote.practice();
      return answer.state === 'reached' ? answer.value.entries.map(({ entry }) => entry) : undefined;
    },
    meanwhile: async (ward, fromMs) => {
      const answer = await remote.meanwhile(ward, fromMs === undefined ? undefined : instantOfMs(fromMs));
      return answer.state === 'reached'
        ? answer.value
        : answer.state === 'refused'
          ? answer.refusal
          : undefined;
    },
    letLengthen: async (ward, may) => {
      const refusal = decided(await remote.letLengthen(ward, may));
      if (refusal === undefined) await refreshDirectory();
      return refusal;
    },
    beds: async (ward) => {
      const answer = await remote.beds(ward);
      return answer.state === 'reached' ? answer.value : decided(answer);
    },
    openWithReason: async ({ patient, reason, forMin, note }) => {
      const until = instantOfMs(now() + forMin * 60_000);
      const drafts: readonly Draft[] = [
        {
          patient,
          kind: 'opened-with-reason',
          payload: { reason, until, ...(note === undefined ? {} : { note }) },
        },
      ];
      const entries = replica.prepare(drafts);
      if (isRefusal(entries)) return entries;
      // Not by the queue: what is opened later without anybody's knowing is not opened.
      const answer = await remote.send(entries);
      return answer.state === 'reached' ? answer.value.refused[0]?.refusal : decided(answer);
    },
    protocols: () => shelf.versions,
    askOfProtocols: async (request) => {
      const refusal = decided(await remote.askOfProtocols(request));
      if (refusal === undefined) await refreshProtocols();
      return refusal;
    },
    subscribe: (listener) => {
      listeners.add(listener);
      return () => listeners.delete(listener);
    },
    start: () => {
      sync ??= startSync({
        remote,
        store,
        now,
        jitter: options.jitter,
        timers,
        mayBeSent: (entry) => entry.author === me.id && !registrationWaits(entry),
        ...(options.carry === undefined ? {} : { carry: options.carry }),
        received: (entries) => {
          if (!record.add(entries)) return;
          if (entries.length > manyAtOnce) tellSoon();
          else tell();
        },
        followed: async (patients) => {
          const gone = nobodyFollows(patients);
          if (gone.length === 0) return;
          await store.forget(gone);
          record.remove(...gone);
          tell();
        },
        sent: (ids) => {
          for (const id of ids) unsent.delete(id);
          tell();
        },
        refused: (entry, refusal) => {
          unsent.delete(entry.id);
          refused = [...refused, { entry, refusal }];
          tell();
        },
        heard: (atMs) => {
          heardAtMs = atMs;
          const sinceMs = awaySinceMs ?? awayBeforeMs;
          if (sinceMs === undefined) return;
          if (atMs - sinceMs >= worthTellingMs) lastAway = { fromMs: sinceMs, toMs: atMs };
          awaySinceMs = undefined;
          awayBeforeMs = undefined;
          void store.writeNote(awayNote, 0).catch(() => undefined);
          tell();
          void refreshDirectory();
          void refreshProtocols();
          void refreshHeld();
        },
        protocolActs: (count) => {
          if (count !== shelf.acts) void refreshProtocols();
        },
        caughtUp: () => {
          if (!reading) return;
          reading = false;
          tell();
        },
        away: () => {
          reading = false;
          if (awaySinceMs !== undefined) return;
          awaySinceMs = awayBeforeMs ?? heardAtMs ?? now();
          void store.writeNote(awayNote, awaySinceMs).catch(() => undefined);
          tell();
        },
        signedOut: options.onSignedOut,
      });
      void refreshDirectory();
      void refreshProtocols();
      void refreshHeld();
    },
    tick: () => record.turnTo(now(), tell),
    pause: () => {
      sync?.stop();
      sync = undefined;
    },
    close: () => {
      timers.clear(telling);
      sync?.stop();
      listeners.clear();
    },
  };

  /** Entries that belong to no patient who is followed, and to none about whom something waits to be sent or was refused. */
  function nobodyFollows(patients: readonly string[]): readonly EntryId[] {
    const followed = new Set(patients);
    const stays = new Set<string>(
      controlIsOn('H5-forget-sent') ? [...unsent.keys(), ...refused.map(({ entry }) => entry.id)] : [],
    );
    const wanted = new Set<string>();
    for (const patient of record.patients()) {
      const own = record.entriesOf(patient);
      if (followed.has(patient) || own.some(({ id }) => stays.has(id)))
        for (const { id } of own) wanted.add(id);
    }
    return record.entries().flatMap(({ id }) => (wanted.has(id) ? [] : [id]));
  }

  /** Somebody else registered this patient here and has not sent it yet: the record would refuse what comes before. */
  function registrationWaits(entry: Entry): boolean {
    if (entry.kind === 'patient-registered') return false;
    const named =
      entry.kind === 'moved-to-patient' ? [entry.patient, entry.payload.toPatient] : [entry.patient];
    return named.some((patient) => {
      const known = record
        .entriesOf(patient)
        .filter((one) => one.kind === 'patient-registered' && one.patient === patient);
      return known.length > 0 && known.every((one) => one.author !== me.id && unsent.has(one.id));
    });
  }

  async function refreshDirectory(): Promise<void> {
    const answer = await remote.directory();
    if (answer.state !== 'reached' || JSON.stringify(answer.value) === JSON.stringify(directory)) return;
    directory = answer.value;
    record.useDirectory(directory);
    // Not written, it is asked for again after the next start.
    await store.writeNote('directory', directory).catch(() => undefined);
    tell();
  }

  async function refreshHeld(): Promise<void> {
    const answer = await remote.held();
    if (answer.state !== 'reached') return;
    const next = answer.value.entries.flatMap(({ entry, refusal, vouched }) =>
      entry === undefined ? [] : [{ entry, refusal, held: { vouched } }],
    );
    if (JSON.stringify(next) === JSON.stringify(held)) return;
    held = next;
    tell();
  }

  async function refreshProtocols(): Promise<void> {
    if (readingShelf) return;
    readingShelf = true;
    const answer = await remote.protocols();
    readingShelf = false;
    if (answer.state !== 'reached' || answer.value.acts === shelf.acts) return;
    shelf = answer.value;
    await store.writeNote('protocols', shelf).catch(() => undefined);
    tell();
  }

  return replica;
}

/** What the ward's record said to a decision that is its own; undefined when it is done. */
function decided(answer: Exclude<Answer<unknown>, { readonly state: 'reached' }>): Refusal;
function decided(answer: Answer<unknown>): Refusal | undefined;
function decided(answer: Answer<unknown>): Refusal | undefined {
  if (answer.state === 'reached') return undefined;
  return answer.state === 'refused'
    ? answer.refusal
    : refuse('web/record-not-reached', {
        asked: 'The ward’s record',
        found: 'no answer',
        allowed: 'a decision that the ward’s record keeps',
        todo: 'Nothing was changed. Try again when the network is back.',
      });
}
