/**
 * What is charted, on its way to the hospital's record: one message after the other from the store's outbox, at least once,
 * under ids that stay the same, so that a receiver can tell a repetition.
 *
 *     answered AA            the outbox row is settled
 *     AE, unclear, nobody    the same message again after a wait that doubles; nothing overtakes it
 *     answered AR            put aside for a person to see, and the next goes on
 *
 * Errors    none are thrown at the caller: what can't be sent waits, and `state` says why
 */
import { instantMs, instantOfMs, minuteMs } from '@ebbline/core/quantity';
import { foldPatient, type PatientFacts } from '@ebbline/core/facts';
import { defaultSettings, type Directory, type Entry } from '@ebbline/core/record';
import { resultMessage, writeMessage } from '@ebbline/interop/hl7v2';
import type { EntryStore, OutboxRow } from '@ebbline/store';
import type { JsonBook } from '@ebbline/store/books';
import type { Outcome, Sender } from './mllp-sender.ts';

/** A message that the receiver will not have. */
export interface AsideResult {
  readonly sequence: number;
  /** Id of the entry; never what it says. */
  readonly entry: string;
  /** What the receiver said. */
  readonly words: string;
  readonly atMs: number;
}

export interface ResultFeedParts {
  readonly store: EntryStore;
  readonly directory: () => Directory;
  readonly sender: Sender;
  readonly aside: JsonBook<readonly AsideResult[]>;
  readonly receiver: { readonly application: string; readonly facility: string };
  readonly now: () => number;
}

export interface ResultFeedState {
  readonly waiting: 'nothing' | 'some';
  /** What kept the last message from arriving, in words; absent when it arrived. */
  readonly trouble?: string;
  readonly lastSentAtMs?: number;
  readonly aside: readonly AsideResult[];
}

export interface ResultFeed {
  /** Sends what waits until nothing does or something stands in the way. Gives how long to wait before the next try. */
  pass(): Promise<number | undefined>;
  /** Sends one that was put aside again; false when there is none of this number, or it was not taken now. */
  resend(sequence: number): Promise<boolean>;
  state(): Promise<ResultFeedState>;
}

// S-common-practice: soon at first, and a receiver that is down is not hammered.
const firstWaitMs = 1_000;
const longestWaitMs = 5 * minuteMs;
const page = 100;
const beginMark = 'results:begin';

const troubles: Readonly<Record<string, string>> = {
  'not-reached': 'The receiver is not reached.',
  'no-answer': 'The receiver took the message and did not answer.',
  'half-an-answer': 'The receiver began an answer and did not end it.',
  'answer-to-another': 'The receiver answered another message.',
  'no-message': 'What the receiver answered can not be read.',
};

export function openResultFeed(parts: ResultFeedParts): ResultFeed {
  const { store, directory, sender, aside, receiver, now } = parts;
  let waitMs = firstWaitMs;
  let trouble: string | undefined;
  let lastSentAtMs: number | undefined;

  const factsOf = async (patient: string): Promise<PatientFacts> => {
    const entries = (await store.recordFor(patient)).map(({ entry }) => entry);
    // A tablet's clock may run a little ahead: what it charted is sent all the same.
    const times = entries.flatMap(({ effectiveAt, recordedAt }) => [
      instantMs(effectiveAt),
      instantMs(recordedAt),
    ]);
    const nowMs = Math.max(now(), ...times);
    const place = (await store.followingOf(patient))?.ward;
    const ward = directory().wards.find(({ id }) => id === place);
    return foldPatient({
      patient,
      entries,
      nowMs,
      settings: ward?.settings ?? defaultSettings,
      zone: ward?.zone ?? 'UTC',
    });
  };

  /** The entry that a row is about, and the patients in whose records it is told of. */
  const subjectOf = async (entry: Entry): Promise<{ id: string; patients: readonly string[] }> => {
    if (entry.kind === 'withdrawn') {
      const target = await store.byId(entry.payload.of);
      return { id: entry.payload.of, patients: [target?.entry.patient ?? entry.patient] };
    }
    if (entry.kind === 'moved-to-patient') {
      const target = await store.byId(entry.payload.of);
      const from = target?.entry.patient ?? entry.patient;
      // Taken from the wrong record first: for no moment does it stand in two.
      return { id: entry.payload.of, patients: [from, entry.payload.toPatient] };
    }
    return { id: entry.id, patients: [entry.patient] };
  };

  const messagesOf = async (row: OutboxRow): Promise<readonly { text: string; controlId: string }[]> => {
    const kept = await store.byId(row.id);
    if (kept === undefined) return [];
    const nowMs = now();
    const { id, patients } = await subjectOf(kept.entry);
    const messages: { text: string; controlId: string }[] = [];
    for (const [place, patient] of patients.entries()) {
      const facts = await factsOf(patient);
      const item = facts.timeline.find((one) => one.entry.id === id);
      if (item === undefined) continue;
      const zone = directory().wards.find((ward) => ward.id === facts.ward)?.zone ?? 'UTC';
      // Twenty characters at most by version 2.5.1, and the same at every try.
      const controlId = `e${row.sequence}-${place + 1}`;
      const message = resultMessage({
        item,
        facts,
        directory: directory(),
        zone,
        atMs: nowMs,
        controlId,
        receiver,
      });
      if (message !== undefined) messages.push({ text: writeMessage(message), controlId });
    }
    return messages;
  };

  /** What became of all messages of a row; the first that did not arrive decides. */
  const sendRow = async (row: OutboxRow): Promise<Outcome | 'nothing-to-send'> => {
    let last: Outcome | 'nothing-to-send' = 'nothing-to-send';
    for (const { text, controlId } of await messagesOf(row)) {
      last = await sender.send(text, controlId);
      if (last.state !== 'answered' || last.said.code !== 'AA') return last;
    }
    return last;
  };

  /** What was charted before results were first sent from this record stays here. */
  const beginsAt = async (): Promise<number> => {
    const begins = await store.bookmark(beginMark);
    if (begins > 0) return begins;
    const next = (await store.head()) + 1;
    await store.setBookmark(beginMark, next);
    return next;
  };

  const settle = (row: OutboxRow): Promise<void> => store.markSent([row.sequence], instantOfMs(now()));
  const arrived = (): void => {
    waitMs = firstWaitMs;
    trouble = undefined;
    lastSentAtMs = now();
  };

  /** True when the row needs no further try. */
  const handle = async (row: OutboxRow): Promise<boolean> => {
    if (row.sequence < (await beginsAt())) {
      await settle(row);
      return true;
    }
    const outcome = await sendRow(row);
    if (outcome === 'nothing-to-send') {
      await settle(row);
      return true;
    }
    if (outcome.state === 'answered' && outcome.said.code === 'AA') {
      arrived();
      await settle(row);
      return true;
    }
    if (outcome.state === 'answered' && outcome.said.code === 'AR') {
      const one = { sequence: row.sequence, entry: row.id, words: outcome.said.words, atMs: now() };
      // Put aside before it leaves the outbox: a stop in between shows it twice, never not at all.
      await aside.change((all) => [...all.filter(({ sequence }) => sequence !== row.sequence), one]);
      arrived();
      await settle(row);
      return true;
    }
    trouble =
      outcome.state === 'answered'
        ? `The receiver can't take it now: ${outcome.said.words || 'no reason given'}.`
        : (troubles[outcome.state === 'unclear' ? outcome.why : outcome.state] ?? 'Not sent.');
    return false;
  };

  const begun = beginsAt();
  let running: Promise<number | undefined> | undefined;
  const passOnce = async (): Promise<number | undefined> => {
    await begun;
    for (;;) {
      const rows = await store.waiting(page);
      if (rows.length === 0) return undefined;
      for (const row of rows) {
        if (await handle(row)) continue;
        const wait = waitMs;
        waitMs = Math.min(longestWaitMs, 2 * waitMs);
        return wait;
      }
    }
  };

  return {
    pass: () => {
      running ??= passOnce().finally(() => {
        running = undefined;
      });
      return running;
    },
    resend: async (sequence) => {
      const one = aside.current().find((held) => held.sequence === sequence);
      if (one === undefined) return false;
      const outcome = await sendRow({ sequence, id: one.entry, queuedAt: instantOfMs(one.atMs) });
      const taken =
        outcome === 'nothing-to-send' || (outcome.state === 'answered' && outcome.said.code === 'AA');
      if (taken) await aside.change((all) => all.filter((held) => held.sequence !== sequence));
      return taken;
    },
    state: async () => ({
      waiting: (await store.waiting(1)).length === 0 ? 'nothing' : 'some',
      ...(trouble === undefined ? {} : { trouble }),
      ...(lastSentAtMs === undefined ? {} : { lastSentAtMs }),
      aside: aside.current(),
    }),
  };
}
