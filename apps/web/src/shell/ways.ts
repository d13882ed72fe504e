/**
 * Ways in beside secret and PIN, as this browser and the ward's record do them together: passkeys by the platform's own
 * helpers, badges as the text that a reader types.
 */
import { refuse, type Refusal } from '@ebbline/core/quantity';
import type { Person } from '@ebbline/core/record';
import { askRecord, type Answer } from './remote.ts';

export interface Ways {
  readonly passkeys: readonly {
    readonly id: string;
    readonly name: string;
    readonly madeAt: string;
    readonly lastUsedAt?: string;
  }[];
  readonly badgeSince?: string;
}
/** Given again before a way in is made. */
export type Again = { readonly pin: string } | { readonly secret: string };

const send = (method: 'POST' | 'PUT' | 'DELETE', body?: unknown): RequestInit => ({
  method,
  ...(body === undefined
    ? {}
    : { headers: { 'content-type': 'application/json' }, body: JSON.stringify(body) }),
});
type Begun = { readonly options: never };

/** False on a page that is not served over a secure line, on a bare IP address, and in an old browser. */
export const passkeysWork = (): boolean =>
  typeof PublicKeyCredential !== 'undefined' &&
  'parseRequestOptionsFromJSON' in PublicKeyCredential &&
  !/^[\d.:[\]]+$/.test(location.hostname);

const deviceDeclined = (): Refusal =>
  refuse('web/passkey-not-given', {
    asked: 'Passkey',
    found: 'no passkey from this device',
    allowed: 'a passkey that this device or your key holds for this server',
    todo: 'Try again, or come in another way.',
  });
const notGiven = { state: 'refused', status: 0, refusal: deviceDeclined() } as const;

/** Somebody who gives up at the device's own question is an answer too. */
async function fromDevice(work: () => Promise<Credential | null>): Promise<unknown> {
  try {
    const credential = await work();
    return credential === null ? undefined : (credential as PublicKeyCredential).toJSON();
  } catch {
    return undefined;
  }
}

/** Signs in with whichever passkey of this device its holder chooses. */
export async function signInByPasskey(): Promise<Answer<Person>> {
  const begun = await askRecord<Begun>('/api/passkey/begin', send('POST', {}));
  if (begun.state !== 'reached') return begun;
  const credential = await fromDevice(() =>
    navigator.credentials.get({
      publicKey: PublicKeyCredential.parseRequestOptionsFromJSON(begun.value.options),
    }),
  );
  if (credential === undefined) return notGiven;
  const answer = await askRecord<{ readonly person: Person }>(
    '/api/passkey/sign-in',
    send('POST', { credential }),
  );
  return answer.state === 'reached' ? { state: 'reached', value: answer.value.person } : answer;
}

export async function makePasskey(name: string, again: Again): Promise<Answer<unknown>> {
  const begun = await askRecord<Begun>('/api/me/passkeys/begin', send('POST', again));
  if (begun.state !== 'reached') return begun;
  const credential = await fromDevice(() =>
    navigator.credentials.create({
      publicKey: PublicKeyCredential.parseCreationOptionsFromJSON(begun.value.options),
    }),
  );
  if (credential === undefined) return notGiven;
  return askRecord('/api/me/passkeys', send('POST', { name, credential }));
}

export const waysOfMine = (): Promise<Answer<Ways>> => askRecord('/api/me/ways');
export const removePasskey = (id: string): Promise<Answer<unknown>> =>
  askRecord(`/api/me/passkeys/${encodeURIComponent(id)}`, send('DELETE'));
export const setBadge = (badge: string, again: Again): Promise<Answer<unknown>> =>
  askRecord('/api/me/badge', send('PUT', { badge, ...again }));
export const removeBadge = (): Promise<Answer<unknown>> => askRecord('/api/me/badge', send('DELETE'));

/** Changes hands by badge; `server/badge-needs-pin` asks for the PIN too. */
export async function comeInByBadge(badge: string, pin?: string): Promise<Answer<Person>> {
  const answer = await askRecord<{ readonly person: Person }>(
    '/api/badge',
    send('POST', { badge, ...(pin === undefined ? {} : { pin }) }),
  );
  return answer.state === 'reached' ? { state: 'reached', value: answer.value.person } : answer;
}

const badgeKey = 'ebbline.badge';

/** Whether the last change of hands on this tablet was by badge: its lock then waits for one. */
export const lastByBadge = {
  read: (): boolean => {
    try {
      return localStorage.getItem(badgeKey) === 'yes';
    } catch {
      return false;
    }
  },
  write: (badge: boolean): void => {
    try {
      localStorage.setItem(badgeKey, badge ? 'yes' : 'no');
    } catch {
      // The lock then asks for a PIN first.
    }
  },
};
