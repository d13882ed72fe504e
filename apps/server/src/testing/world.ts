// A small invented unit for this room's tests: one person of every role on a ward, another ward beside it and one in
// another hospital, a clock that the test turns.
import type { FastifyInstance, LightMyRequestResponse } from 'fastify';
import { instantOfMs, minuteMs, uuidV7 } from '@ebbline/core/quantity';
import {
  defaultSettings,
  roles,
  type Directory,
  type Entry,
  type EntryKind,
  type PayloadOf,
  type Role,
} from '@ebbline/core/record';
import type { EntryStore } from '@ebbline/store';
import { openMemoryStore } from '@ebbline/store/memory';
import type { AccountBook } from '../accounts/account-book.ts';
import { buildServer, type ServerOptions } from '../build-server.ts';
import { fixedDirectory } from '../directory-book.ts';

export const organisation = 'saltmarsh';
export const startMs = Date.parse('2026-05-12T08:00:00Z');
export const secret = 'heron-under-the-pier';
export const pin = '4821';

export const directory: Directory = {
  organisation,
  wards: [
    {
      id: 'harbour-3',
      name: 'Harbour 3',
      purpose: 'after surgery',
      hospital: 'Saltmarsh General',
      zone: 'Europe/Lisbon',
      beds: ['1', '2', '3', '4'],
      settings: defaultSettings,
      shiftChanges: ['07:30', '19:30'],
    },
    ...[
      ['harbour-4', 'Saltmarsh General'],
      ['dune-1', 'Dune House'],
    ].map(([id = '', hospital = '']) => ({
      id,
      name: id,
      purpose: 'after surgery',
      hospital,
      zone: 'Europe/Lisbon',
      beds: ['1', '2'],
      settings: defaultSettings,
      shiftChanges: ['07:30', '19:30'],
    })),
  ],
  people: [
    ...roles.map((role) => ({ id: role, name: `A ${role}`, initials: 'AA', role, wards: ['harbour-3'] })),
    { id: 'next-nurse', name: 'Next Nurse', initials: 'NN', role: 'nurse', wards: ['harbour-4'] },
    { id: 'far-nurse', name: 'Far Nurse', initials: 'FN', role: 'nurse', wards: ['dune-1'] },
    { id: 'second-nurse', name: 'Second Nurse', initials: 'SN', role: 'nurse', wards: ['harbour-3'] },
  ],
  scanners: [{ id: 'scanner-a', name: 'Scanner A', ward: 'harbour-3' }],
};

/** Compares plainly, for speed; that secrets are kept as they should is proved in accounts.test.ts. */
const accounts: AccountBook = {
  secretIs: async (person, given) => directory.people.some(({ id }) => id === person) && given === secret,
  pinIs: async (person, given) => directory.people.some(({ id }) => id === person) && given === pin,
  set: async () => undefined,
  setFirst: async () => false,
};

export interface World {
  readonly server: FastifyInstance;
  readonly store: EntryStore;
  readonly clock: { nowMs: number };
  /** Cookie header of a new session. */
  signIn(person: string): Promise<string>;
  entry<Kind extends EntryKind>(kind: Kind, payload: PayloadOf<Kind>, over?: Partial<Entry>): Entry;
  registered(patient: string, over?: Partial<PayloadOf<'patient-registered'>>): Entry;
  post(url: string, body: unknown, headers?: Record<string, string>): Promise<LightMyRequestResponse>;
  get(url: string, headers?: Record<string, string>): Promise<LightMyRequestResponse>;
}

export async function openWorld(options: Partial<ServerOptions> = {}): Promise<World> {
  const clock = { nowMs: startMs };
  const store = options.store ?? openMemoryStore({ organisation });
  const server = await buildServer({
    store,
    directory: fixedDirectory(directory),
    accounts,
    now: () => clock.nowMs,
    log: false,
    ...options,
  });
  let count = 0;
  const entry: World['entry'] = (kind, payload, over = {}) => {
    count += 1;
    return {
      id: uuidV7(startMs, [0, 0, 0, 0, 0, 0, 0, 0, count >> 8, count & 255]),
      organisation,
      patient: 'p1',
      effectiveAt: instantOfMs(clock.nowMs),
      timeQuality: 'exact',
      recordedAt: instantOfMs(clock.nowMs),
      author: 'nurse',
      madeOn: 'tablet-1',
      kind,
      payload,
      ...over,
    } as Entry;
  };
  const post: World['post'] = (url, body, headers = {}) =>
    server.inject({ method: 'POST', url, headers, payload: body as object });
  return {
    server,
    store,
    clock,
    entry,
    registered: (patient, over = {}) =>
      entry(
        'patient-registered',
        {
          familyName: 'Ostrander',
          givenName: 'Wilma',
          sex: 'female',
          identifierSystem: 'urn:made-up',
          identifierValue: patient,
          ward: 'harbour-3',
          bed: '4',
          ...over,
        },
        { patient },
      ),
    post,
    get: (url, headers = {}) => server.inject({ method: 'GET', url, headers }),
    signIn: async (person) => {
      const answer = await post('/api/sign-in', { person, secret });
      if (answer.statusCode !== 200) throw new Error(`sign-in answered ${answer.statusCode}`);
      const cookie = answer.cookies[0];
      return `${cookie?.name}=${cookie?.value}`;
    },
  };
}

export const roleList: readonly Role[] = roles;
export const minutes = (count: number): number => count * minuteMs;
