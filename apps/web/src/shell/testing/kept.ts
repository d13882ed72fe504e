/** Test-only: a tablet's database that can be looked into from outside, and a server's keys as the tablet meets them. */
import { hourMs } from '@ebbline/core/quantity';
import { defaultSettings, type Entry, type Person } from '@ebbline/core/record';
import {
  base64Of,
  issueVoucher,
  makeKeyPair,
  markHolds,
  openSealed,
  utf8,
  type SealedEntry,
} from '@ebbline/store/sealed';
import { openVault, type Vault } from '../kept/vault.ts';
import type { TabletKey } from '../remote.ts';
import { startMs } from './fakes.ts';

/** Few rounds: what is slow about a PIN is not what these tests are about. */
export const openTestVault = (factory: IDBFactory): Promise<Vault> => openVault({ factory, rounds: 50 });

export interface TestServer {
  keyFor(person: Person, copy: string, nowMs?: number): Promise<TabletKey>;
  /** The entry in a box, and whether its author's mark holds. */
  open(sealed: SealedEntry): Promise<{ readonly entry: Entry; readonly vouched: boolean } | undefined>;
}

export async function serverOf(): Promise<TestServer> {
  const pair = await makeKeyPair(true);
  const publicKey = base64Of(new Uint8Array(await crypto.subtle.exportKey('raw', pair.publicKey)));
  const secret = utf8(publicKey.slice(0, 32));
  return {
    keyFor: async ({ id: person, role, wards }, copy, nowMs = startMs) => {
      const scope = utf8(JSON.stringify([copy, wards, publicKey]));
      return {
        part: base64Of(new Uint8Array(await crypto.subtle.digest('SHA-256', scope))),
        server: { id: 'key-1', publicKey },
        voucher: await issueVoucher(secret, {
          person,
          role,
          wards,
          issuedMs: nowMs,
          untilMs: nowMs + 2 * defaultSettings.offlineForH * hourMs,
        }),
      };
    },
    open: async (sealed) => {
      const opened = await openSealed(sealed, pair);
      if (opened === undefined) return undefined;
      const { text, voucher = '', mark = '' } = opened;
      return { entry: JSON.parse(text) as Entry, vouched: await markHolds(secret, voucher, mark, text) };
    },
  };
}

/** Everything that stands in every database of this browser, as one text: bytes too, as letters. */
export async function everythingIn(factory: IDBFactory): Promise<string> {
  const parts: string[] = [];
  for (const { name = '' } of await factory.databases()) {
    const database = await new Promise<IDBDatabase>((resolve, reject) => {
      const request = factory.open(name);
      request.addEventListener('success', () => resolve(request.result));
      request.addEventListener('error', () => reject(request.error ?? new Error('not read')));
    });
    for (const store of database.objectStoreNames) {
      const all = await new Promise<unknown[]>((resolve, reject) => {
        const request = database.transaction(store).objectStore(store).getAll();
        request.addEventListener('success', () => resolve(request.result));
        request.addEventListener('error', () => reject(request.error ?? new Error('not read')));
      });
      parts.push(`${name} ${store}`, ...all.map(asText));
    }
    database.close();
  }
  return parts.join('\n');
}

function asText(value: unknown): string {
  return JSON.stringify(value, (_name, member: unknown) =>
    member instanceof Uint8Array ? new TextDecoder('latin1').decode(member) : member,
  );
}
