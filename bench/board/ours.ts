/** Our server on a temporary folder with one long ward, every patient on watch, and the built screens. */
import { mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { buildServer, fixedDirectory, sharedAccounts } from '../../apps/server/src/index.ts';
import { instantOfMs, seededRandom, uuidV7 } from '../../packages/core/src/quantity/index.ts';
import { loadWard, loadWardId } from '../../packages/simulate/src/index.ts';
import { openSqliteStore } from '../../packages/store/src/sqlite/index.ts';

const beatEveryMs = 5000;
export const nurse = 'tove-wrenfield';
const second = 'odile-marchetti';
const secret = 'bench';
export { loadWardId };

export interface Ours {
  readonly address: string;
  readonly cookie: string;
  /** A second client records a measured void; resolves when it is kept. */
  record(patient: string, volumeMl: number): Promise<void>;
  close(): Promise<void>;
}

export async function startOurs(options: { patients: number; webFolder: string }): Promise<Ours> {
  const nowMs = Date.now();
  const { directory, entries } = loadWard({ seed: 5, patients: options.patients, nowMs });
  const folder = mkdtempSync(join(tmpdir(), 'ebbline-bench-'));
  const store = openSqliteStore({
    path: join(folder, 'record.sqlite'),
    organisation: directory.organisation,
  });
  // As a ward writes them: in the order of time, patients mixed.
  const inOrder = entries.toSorted((a, b) => (a.recordedAt < b.recordedAt ? -1 : 1));
  const { refused } = await store.append(inOrder, {
    receivedAt: (entry) => entry.recordedAt,
    actor: 'bench',
  });
  if (refused.length > 0) throw new Error(`the store refuses ${refused.length} entries of the ward`);
  const people = directory.people.map(({ id }) => id);
  const server = await buildServer({
    store,
    directory: fixedDirectory(directory),
    accounts: await sharedAccounts(people, secret, '1234'),
    now: () => Date.now(),
    log: false,
    webFolder: options.webFolder,
    requestsPerMinute: 100_000,
    signInsPerMinute: 1000,
  });
  const beat = setInterval(() => void server.ebbline.live.beat(Date.now()), beatEveryMs);
  const address = await server.listen({ port: 0, host: '127.0.0.1' });
  const signIn = async (person: string): Promise<string> => {
    const answer = await fetch(`${address}/api/sign-in`, {
      method: 'POST',
      headers: { 'content-type': 'application/json', origin: address },
      body: JSON.stringify({ person, secret }),
    });
    if (!answer.ok) throw new Error(`sign-in answered ${answer.status}`);
    return (answer.headers.getSetCookie()[0] ?? '').split(';')[0] ?? '';
  };
  const [cookie, other] = [await signIn(nurse), await signIn(second)];
  const random = seededRandom(nowMs % 1_000_000);
  return {
    address,
    cookie,
    record: async (patient, volumeMl) => {
      const atMs = Date.now();
      const at = instantOfMs(atMs);
      const id = uuidV7(
        atMs,
        Array.from({ length: 10 }, () => random.below(256)),
      );
      const answer = await fetch(`${address}/api/entries`, {
        method: 'POST',
        headers: { 'content-type': 'application/json', cookie: other, origin: address },
        body: JSON.stringify({
          entries: [
            {
              id,
              organisation: directory.organisation,
              patient,
              kind: 'void',
              effectiveAt: at,
              timeQuality: 'exact',
              recordedAt: at,
              author: second,
              madeOn: 'bench',
              payload: { how: 'measured', volumeMl },
            },
          ],
        }),
      });
      const { kept, refused: not } = (await answer.json()) as { kept?: unknown[]; refused?: unknown[] };
      if (kept?.length !== 1)
        throw new Error(`the server did not keep it: ${JSON.stringify(not ?? answer.status)}`);
    },
    close: async () => {
      clearInterval(beat);
      await server.close();
      await store.close();
      rmSync(folder, { recursive: true, force: true });
    },
  };
}
