/** Test-only: a ward's record in memory that can be cut off, and a tablet on it whose clock the test turns. */
import {
  defaultSettings,
  isPractice,
  practiceRecordOf,
  type Directory,
  type Entry,
  type KeptEntry,
  type Person,
} from '@ebbline/core/record';
import { instantOfMs, refuse, seededRandom } from '@ebbline/core/quantity';
import { memoryStore, type LocalStore } from '../local-store.ts';
import { openReplica, type OpenReplica } from '../open-replica.ts';
import type { Answer, ProtocolShelf, Remote, SendReport } from '../remote.ts';
import type { Draft } from '../replica.ts';
import type { TestServer } from './kept.ts';

export const startMs = Date.parse('2026-05-14T16:30:00Z');

export const nurse: Person = {
  id: 'ida-vell',
  name: 'Ida Vell',
  initials: 'IV',
  role: 'nurse',
  wards: ['ward-one'],
};
export const otherNurse: Person = {
  id: 'otto-brae',
  name: 'Otto Brae',
  initials: 'OB',
  role: 'nurse',
  wards: ['ward-one'],
};
export const aide: Person = {
  id: 'aya-lund',
  name: 'Aya Lund',
  initials: 'AL',
  role: 'aide',
  wards: ['ward-one'],
};

export const directory: Directory = {
  organisation: 'test-coast',
  people: [nurse, otherNurse, aide],
  scanners: [],
  wards: [
    {
      id: 'ward-one',
      name: 'Ward One',
      purpose: 'Tests',
      hospital: 'Nowhere',
      zone: 'Europe/Copenhagen',
      beds: ['1', '2'],
      settings: defaultSettings,
      shiftChanges: ['07:00', '19:00'],
    },
  ],
};

export interface FakeRecord {
  readonly remote: Remote;
  readonly kept: KeptEntry[];
  readonly sends: number[];
  /** How often it was read by cursor. */
  reads: number;
  /** No network. */
  cut: boolean;
  /** Takes entries in but loses the answer on the way. */
  loseAnswers: boolean;
  /** A line that is asked for neither opens nor breaks. */
  mute: boolean;
  /** Refuses what is about a patient whom nobody has registered. */
  knowsOnlyRegistered: boolean;
  /** Ids that it refuses. */
  readonly refuses: Set<string>;
  signedInAs: Person | undefined;
  /** Its keys; without one it takes no sealed entries. */
  server: TestServer | undefined;
  /** Whom it says are followed; everybody when undefined. */
  followed: readonly string[] | undefined;
  /** What its cursors are good for. */
  scope: string | undefined;
  /** Versions of protocols that it holds. */
  shelf: ProtocolShelf;
  /** Every open line breaks. */
  dropLines(): void;
  /** Tells every line that somebody is followed no longer. */
  leave(): void;
  /** The sign of life of each five seconds; nothing arrives while the network is cut. */
  beat(): void;
}

export function fakeRecord(): FakeRecord {
  const lines = new Set<Parameters<Remote['live']>[1]>();
  const record: FakeRecord = {
    kept: [],
    sends: [],
    reads: 0,
    cut: false,
    loseAnswers: false,
    mute: false,
    knowsOnlyRegistered: false,
    refuses: new Set(),
    signedInAs: nurse,
    server: undefined,
    followed: undefined,
    scope: undefined,
    shelf: { acts: 0, versions: [] },
    dropLines: () => {
      for (const line of lines) line.lost();
    },
    leave: () => {
      if (!record.cut) for (const line of lines) line.left?.();
    },
    beat: () => {
      if (!record.cut) for (const line of lines) line.alive(record.kept.length, record.shelf.acts);
    },
    remote: {
      welcome: async () => answer({ people: directory.people, demo: true }),
      me: async () => (record.signedInAs ? answer(record.signedInAs) : { state: 'signed-out' }),
      directory: async () => answer(directory),
      signIn: async (person) => entering(person),
      switchTo: async (person) => entering(person),
      lock: async () => answer(undefined),
      signOut: async () => {
        if (!record.cut) record.signedInAs = undefined;
        return answer(undefined);
      },
      send: async (entries) => {
        if (record.cut) return { state: 'away' };
        record.sends.push(entries.length);
        const report: { kept: SendReport['kept'][number][]; refused: SendReport['refused'][number][] } = {
          kept: [],
          refused: [],
        };
        const knows = (patient: string): boolean =>
          [...entries, ...record.kept.map((one) => one.entry)].some(
            (one) => one.kind === 'patient-registered' && one.patient === patient,
          );
        for (const entry of entries) {
          if (record.refuses.has(entry.id) || (record.knowsOnlyRegistered && !knows(entry.patient))) {
            report.refused.push({
              id: entry.id,
              refusal: refuse('server/test', {
                asked: 'Entry',
                found: 'this one',
                allowed: 'another',
                todo: 'Enter it again.',
              }),
            });
            continue;
          }
          const known = record.kept.find((one) => one.entry.id === entry.id);
          const row: KeptEntry = known ?? {
            entry,
            sequence: record.kept.length + 1,
            receivedAt: instantOfMs(startMs),
          };
          if (!known) {
            record.kept.push(row);
            if (!isPractice(entry)) for (const line of lines) line.entry(row);
          }
          report.kept.push({
            id: entry.id,
            sequence: row.sequence,
            receivedAt: row.receivedAt,
            known: known !== undefined,
          });
        }
        return record.loseAnswers ? { state: 'away' } : { state: 'reached', value: report };
      },
      after: async (given, limit, scope) => {
        if (record.cut) return { state: 'away' };
        if (!record.signedInAs) return { state: 'signed-out' };
        const sequence = scope === undefined || scope === record.scope ? given : 0;
        const page = record.kept.filter((one) => one.sequence > sequence).slice(0, limit);
        const { followed } = record;
        record.reads += 1;
        return {
          state: 'reached',
          value: {
            entries: page.filter(
              ({ entry }) => !isPractice(entry) && (followed?.includes(entry.patient) ?? true),
            ),
            head: record.kept.length,
            through: page.at(-1)?.sequence ?? sequence,
            ...(record.scope === undefined ? {} : { scope: record.scope }),
            ...(followed === undefined ? {} : { patients: followed }),
          },
        };
      },
      tabletKey: async (copy) =>
        record.server && record.signedInAs
          ? answer(await record.server.keyFor(record.signedInAs, copy))
          : { state: 'away' },
      carry: async (sealed) => {
        if (record.cut || !record.server) return { state: 'away' };
        const opened = await Promise.all(sealed.map((one) => record.server?.open(one)));
        const vouched = opened.filter((one) => one?.vouched).map((one) => (one as { entry: Entry }).entry);
        const report = await record.remote.send(vouched);
        const kept = report.state === 'reached' ? report.value.kept.map(({ id }) => id) : [];
        return report.state === 'reached' ? answer({ kept, held: [] }) : { state: 'away' };
      },
      beds: async () => answer({ beds: [], forMin: 60 }),
      held: async () => answer({ entries: [] }),
      settleHeld: async () => answer({}),
      practice: async () =>
        answer({
          entries: record.kept.filter(
            ({ entry }) => isPractice(entry) && entry.author === record.signedInAs?.id,
          ),
        }),
      meanwhile: async (_ward, from) =>
        answer({ from: from ?? '2026-05-14T08:00:00Z', to: '2026-05-14T16:30:00Z', patients: [] }),
      letLengthen: async () => answer({}),
      protocols: async () => answer(record.shelf),
      askOfProtocols: async () => answer({}),
      live: (_after, listener) => {
        if (record.mute) return () => undefined;
        lines.add(listener);
        queueMicrotask(() => {
          if (!lines.has(listener)) return;
          if (record.cut) listener.lost();
          else listener.opened();
        });
        return () => void lines.delete(listener);
      },
    },
  };
  function entering(person: string): Answer<Person> {
    const found = directory.people.find(({ id }) => id === person) ?? nurse;
    if (!record.cut) record.signedInAs = found;
    return answer(found);
  }
  function answer<Value>(value: Value): Answer<Value> {
    return record.cut ? { state: 'away' } : { state: 'reached', value };
  }
  return record;
}

export interface Tablet {
  readonly replica: OpenReplica;
  readonly clock: { nowMs: number };
  readonly store: LocalStore;
  signedOut: boolean;
}

export async function openTablet(
  record: FakeRecord,
  options: { me?: Person; seed?: number; store?: LocalStore } = {},
): Promise<Tablet> {
  const random = seededRandom(options.seed ?? 1);
  const clock = { nowMs: startMs };
  const store = options.store ?? memoryStore();
  const tablet: { -readonly [K in keyof Tablet]: Tablet[K] } = {
    clock,
    store,
    signedOut: false,
    replica: undefined as never,
  };
  tablet.replica = await openReplica({
    me: options.me ?? nurse,
    directory,
    store,
    remote: record.remote,
    madeOn: `tablet-${options.seed ?? 1}`,
    now: () => clock.nowMs,
    random: (count) => Uint8Array.from({ length: count }, () => random.below(256)),
    jitter: () => 1,
    onSignedOut: () => {
      tablet.signedOut = true;
    },
  });
  return tablet;
}

export const practised = (person: string, seed = 1): Draft => ({
  patient: practiceRecordOf(person),
  kind: 'practised',
  payload: { exercise: 'judge', level: 'plain-view', seed, trueMl: 240, judgedRight: ['bladder-there'] },
});

export const registered = (patient: string, bed = '1'): Parameters<OpenReplica['record']>[0][number] => ({
  patient,
  kind: 'patient-registered',
  payload: {
    familyName: 'Marsh',
    givenName: 'Tess',
    sex: 'female',
    identifierSystem: 'made-up',
    identifierValue: patient,
    ward: 'ward-one',
    bed,
  },
});

export const passed = (patient: string, volumeMl: number): Parameters<OpenReplica['record']>[0][number] => ({
  patient,
  kind: 'void',
  payload: { how: 'measured', volumeMl },
});

export const idsOf = (entries: readonly Entry[]): readonly string[] => entries.map((entry) => entry.id);
