/**
 * The ward's record over HTTP: what the sync asks of it. Every answer is one of: reached with a body, refused with
 * a reason, signed out, or away (no network, or the record does not answer).
 */
import { isRefusal, type Refusal } from '@ebbline/core/quantity';
import type { Directory, Entry, KeptEntry, Person } from '@ebbline/core/record';
import type { ProtocolVersion } from '@ebbline/protocol';
import type { IssuedVoucher, SealedEntry } from '@ebbline/store/sealed';

export interface KeptReport {
  readonly id: string;
  readonly sequence: number;
  readonly receivedAt: string;
  readonly known?: boolean;
}

export interface SendReport {
  readonly kept: readonly KeptReport[];
  readonly refused: readonly { readonly id?: string; readonly refusal: Refusal }[];
}

export type Answer<Value> =
  | { readonly state: 'reached'; readonly value: Value }
  | { readonly state: 'refused'; readonly refusal: Refusal; readonly status: number }
  | { readonly state: 'signed-out' }
  | { readonly state: 'away' };

/** What may be known before anybody has signed in. */
export interface Welcome {
  readonly people: readonly Person[];
  /** True only where everything is invented; then the secret and the PIN of everybody stand here too. */
  readonly demo: boolean;
  readonly secret?: string;
  readonly pin?: string;
}

/** What a person may ask of a ward's protocols; the ward's record proves and decides. */
export type ProtocolRequest =
  | { readonly ask: 'send'; readonly ward: string; readonly dmn: string }
  | {
      readonly ask: 'publish';
      readonly id: string;
      readonly version: number;
      readonly contentDigest: string;
      readonly reviewBy: string;
      readonly pin: string;
    }
  | {
      readonly ask: 'retire';
      readonly id: string;
      readonly version: number;
      readonly reason: string;
      readonly pin: string;
    };

/** Versions of protocols, and how many acts led to them. */
export interface ProtocolShelf {
  readonly acts: number;
  readonly versions: readonly ProtocolVersion[];
}

/** What a signed-in person is given for the copy on their tablet. */
export interface TabletKey {
  /** The server's part of the copy's key. */
  readonly part: string;
  /** The public key to which unsent entries are sealed. */
  readonly server: { readonly id: string; readonly publicKey: string };
  readonly voucher: IssuedVoucher;
}

/** A carried entry that the record did not take, and that waits on the server for its author. */
export interface HeldEntry {
  readonly id: string;
  /** Absent when the server has no key to it. */
  readonly entry?: Entry;
  /** False when nothing proves that it is theirs. */
  readonly vouched: boolean;
  readonly refusal: Refusal;
}

/** What a ward did not know for a while, as the record tells it. */
export interface MeanwhileReport {
  readonly from: string;
  readonly to: string;
  readonly outage?: { readonly from: string; readonly to: string };
  readonly patients: readonly {
    readonly patient: string;
    readonly bed: string;
    readonly initials: string;
    readonly summary: string;
    readonly lines: readonly {
      readonly kind: 'came-late' | 'due' | 'missed' | 'over' | 'expected-over';
      readonly at: string;
      readonly sentence: string;
      readonly entry?: string;
      readonly withoutIt: readonly { readonly entry: string; readonly sentence: string }[];
    }[];
  }[];
}
/** Who lies where on a ward, and for how long somebody else may open one of them, minutes. */
export interface BedList {
  readonly beds: readonly { readonly patient: string; readonly bed: string; readonly initials: string }[];
  readonly forMin: number;
}

/** An entry of the live line: the cursor that a reader needs to have had before it, and the one to go on from. */
export type LiveEntry = KeptEntry & { readonly after?: number; readonly through?: number };

export interface Remote {
  welcome(): Promise<Answer<Welcome>>;
  me(): Promise<Answer<Person>>;
  directory(): Promise<Answer<Directory>>;
  signIn(person: string, secret: string): Promise<Answer<Person>>;
  switchTo(person: string, pin: string): Promise<Answer<Person>>;
  /** Tells the record that this tablet is locked: its sign-in reads and writes nothing until a PIN. */
  lock(): Promise<Answer<unknown>>;
  signOut(): Promise<Answer<unknown>>;
  send(entries: readonly Entry[]): Promise<Answer<SendReport>>;
  beds(ward: string): Promise<Answer<BedList>>;
  tabletKey(copy: string): Promise<Answer<TabletKey>>;
  /** Hands on sealed entries of anybody; needs nobody signed in. */
  carry(
    sealed: readonly SealedEntry[],
  ): Promise<Answer<{ readonly kept: readonly string[]; readonly held: readonly string[] }>>;
  held(): Promise<Answer<{ readonly entries: readonly HeldEntry[] }>>;
  settleHeld(id: string, decided: 'mine' | 'dismissed'): Promise<Answer<unknown>>;
  /** @param scope what the cursor is good for, as the record said with it */
  after(
    sequence: number,
    limit: number,
    scope?: string,
  ): Promise<
    Answer<{
      readonly entries: readonly KeptEntry[];
      readonly head: number;
      /** How far was read; beyond the last entry when some are not handed on. */
      readonly through?: number;
      /** Whose patients were read; with another than was asked for, the record began anew. */
      readonly scope?: string;
      /** At the end: everybody whom this person follows now. Others leave the tablet. */
      readonly patients?: readonly string[];
    }>
  >;
  /** Results of practice that this person may see; they don't come with the ward's record. */
  practice(): Promise<Answer<{ readonly entries: readonly KeptEntry[] }>>;
  /** What came in late, became due or went over on a ward since an instant; without one since the last outage. */
  meanwhile(ward: string, from?: string): Promise<Answer<MeanwhileReport>>;
  /** Signs that the forecast may use a row's range on a ward, or takes the signature back. */
  letLengthen(ward: string, may: boolean): Promise<Answer<unknown>>;
  protocols(): Promise<Answer<ProtocolShelf>>;
  askOfProtocols(request: ProtocolRequest): Promise<Answer<unknown>>;
  /** Opens the live line from after a sequence on; returns how to close it. */
  live(
    after: number,
    listener: {
      entry: (kept: LiveEntry) => void;
      /** Somebody is followed no longer. */
      left?: () => void;
      alive: (head: number, protocolActs?: number) => void;
      opened: () => void;
      ended: () => void;
      lost: () => void;
    },
    scope?: string,
  ): () => void;
}

const patienceMs = 15_000;
/** Where a 401 says that this was not the right person, not that the sign-in is over. */
const doors: ReadonlySet<string> = new Set([
  '/api/sign-in',
  '/api/switch',
  '/api/badge',
  '/api/passkey/sign-in',
]);
/** A large table takes the record a while to prove. */
const proofPatienceMs = 60_000;

function refusalIn(body: unknown): Refusal | undefined {
  if (isRefusal(body)) return body;
  const inner = (body as { refusal?: unknown } | null)?.refusal;
  return isRefusal(inner) ? inner : undefined;
}

async function ask<Value>(path: string, init?: RequestInit, waitMs = patienceMs): Promise<Answer<Value>> {
  let response: Response;
  try {
    response = await fetch(path, {
      credentials: 'same-origin',
      cache: 'no-store',
      signal: AbortSignal.timeout(waitMs),
      ...init,
    });
  } catch {
    return { state: 'away' };
  }
  const body: unknown = await response.json().catch(() => undefined);
  if (response.ok) return { state: 'reached', value: body as Value };
  const refusal = refusalIn(body);
  if (response.status === 401 && !doors.has(path)) return { state: 'signed-out' };
  if (refusal) return { state: 'refused', refusal, status: response.status };
  if (response.status === 401 || response.status === 403 || response.status === 429) {
    const todo =
      response.status === 429
        ? 'Too many tries; wait a minute and try again.'
        : 'Check the name and try again.';
    return {
      state: 'refused',
      status: response.status,
      refusal: {
        refused: true,
        code: `web/http-${response.status}`,
        asked: 'Request',
        found: `answer ${response.status}`,
        allowed: 'a request that this person may make',
        todo,
      },
    };
  }
  return { state: 'away' };
}

const scopePart = (scope: string | undefined): string =>
  scope === undefined ? '' : `&scope=${encodeURIComponent(scope)}`;

const post = (body: unknown): RequestInit => ({
  method: 'POST',
  headers: { 'content-type': 'application/json' },
  body: JSON.stringify(body),
});

const parsed = <Value>(event: Event): Value | undefined => {
  try {
    return JSON.parse((event as MessageEvent<string>).data) as Value;
  } catch {
    return undefined;
  }
};

/** The server that this page came from. */
export function httpRemote(): Remote {
  const person = async (
    answer: Promise<Answer<Person | { readonly person?: Person; readonly me?: Person }>>,
  ): Promise<Answer<Person>> => {
    const given = await answer;
    if (given.state !== 'reached') return given;
    const value = given.value;
    const found = 'role' in value ? value : (value.person ?? value.me);
    return found ? { state: 'reached', value: found } : { state: 'signed-out' };
  };
  return {
    welcome: () => ask('/api/welcome'),
    me: () => person(ask('/api/me')),
    directory: () => ask('/api/directory'),
    signIn: (who, secret) => person(ask('/api/sign-in', post({ person: who, secret }))),
    switchTo: (who, pin) => person(ask('/api/switch', post({ person: who, pin }))),
    lock: () => ask('/api/lock', post({})),
    signOut: () => ask('/api/sign-out', post({})),
    send: (entries) => ask('/api/entries', post({ entries })),
    beds: (ward) => ask(`/api/wards/${encodeURIComponent(ward)}/beds`),
    tabletKey: (copy) => ask('/api/tablet-key', post({ copy })),
    carry: (sealed) => ask('/api/sealed', post({ entries: sealed })),
    held: () => ask('/api/held'),
    settleHeld: (id, decided) => ask(`/api/held/${encodeURIComponent(id)}`, post({ decided })),
    after: (sequence, limit, scope) =>
      ask(`/api/entries?after=${sequence}&limit=${limit}${scopePart(scope)}`),
    practice: () => ask('/api/practice'),
    meanwhile: (ward, from) =>
      ask(
        `/api/reports/meanwhile?ward=${encodeURIComponent(ward)}${from === undefined ? '' : `&from=${encodeURIComponent(from)}`}`,
      ),
    letLengthen: (ward, may) => ask(`/api/wards/${encodeURIComponent(ward)}/lengthening`, post({ may })),
    protocols: () => ask('/api/protocols'),
    askOfProtocols: (request) => {
      if (request.ask === 'send')
        return ask('/api/protocols', post({ ward: request.ward, dmn: request.dmn }), proofPatienceMs);
      const { ask: verb, id, version, ...body } = request;
      return ask(`/api/protocols/${encodeURIComponent(id)}/${version}/${verb}`, post(body), proofPatienceMs);
    },
    live: (after, listener, scope) => {
      const source = new EventSource(`/api/live?after=${after}${scopePart(scope)}`, {
        withCredentials: true,
      });
      source.addEventListener('open', () => listener.opened());
      source.addEventListener('error', () => listener.lost());
      source.addEventListener('ended', () => listener.ended());
      source.addEventListener('entry', (event) => {
        const kept = parsed<LiveEntry>(event);
        if (kept) listener.entry(kept);
      });
      source.addEventListener('left', () => listener.left?.());
      source.addEventListener('alive', (event) => {
        const body = parsed<{ head: number; protocolActs?: number }>(event);
        if (body) listener.alive(body.head, body.protocolActs);
      });
      return () => source.close();
    },
  };
}

/** One request to the ward's record; for pages that ask what no tablet keeps. */
export { ask as askRecord };
