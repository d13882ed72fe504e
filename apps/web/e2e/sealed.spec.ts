// Proves     a planted patient's name is found nowhere in the browser once the tablet is locked, nor after signing out: not in
//            the page, its storages, caches and databases, nor in the memory of its script; entries made without the
//            network, locked and signed out over, reach the record with nobody signed in
// Published  none
import { expect, test, type CDPSession, type Page } from '@playwright/test';
import type { Entry } from '@ebbline/core/record';
import { bytesOf, publicKeyOf, sealEntry } from '@ebbline/store/sealed';
import { boardIsShown, people, signIn } from './ward.ts';

const planted = { familyName: 'Zweigenthaler', givenName: 'Philippinchen', identifierValue: 'planted-771' };
/** As the screens show them. */
const initials = 'P.Z.';
const words = Object.values(planted);

/** Registers somebody on the ward of the person who is signed in. */
async function plant(page: Page, patient: string): Promise<string> {
  const { entries } = (await (await page.request.get('/api/entries?after=0&limit=400')).json()) as {
    entries: { entry: Record<string, unknown> & { kind: string; payload: Record<string, unknown> } }[];
  };
  const me = (
    (await (await page.request.get('/api/me')).json()) as { person: { id: string; wards: string[] } }
  ).person;
  const one = entries.find(
    ({ entry }) => entry.kind === 'patient-registered' && me.wards.includes(entry.payload['ward'] as string),
  )?.entry;
  const now = new Date().toISOString();
  const id = `${Date.now()
    .toString(16)
    .padStart(12, '0')
    .replace(/^(.{8})(.{4})$/, '$1-$2')}-7abc-8def-0123456789ab`;
  const entry = {
    ...one,
    id,
    patient,
    author: me.id,
    effectiveAt: now,
    recordedAt: now,
    timeQuality: 'exact',
    payload: { ...one?.payload, ...planted, identifierValue: patient.replace('somebody', 'planted') },
  };
  const answer = await page.request.post('/api/entries', { data: { entries: [entry] } });
  expect(await answer.json()).toMatchObject({ refused: [] });
  return patient;
}

/** Everything that the browser keeps and shows, as one text. */
const everything = (page: Page): Promise<string> =>
  page.evaluate(async () => {
    const parts = [document.title, document.documentElement.outerHTML, JSON.stringify({ ...localStorage })];
    parts.push(JSON.stringify({ ...sessionStorage }), document.cookie);
    for (const name of await caches.keys()) {
      const cache = await caches.open(name);
      for (const request of await cache.keys()) {
        parts.push(request.url);
        const found = await cache.match(request);
        if (!/\.(?:js|woff2|css)$/.test(request.url)) parts.push((await found?.text()) ?? '');
      }
    }
    const asked = <Value>(request: IDBRequest<Value>): Promise<Value> =>
      new Promise((resolve, reject) => {
        request.addEventListener('success', () => resolve(request.result));
        request.addEventListener('error', () => reject(request.error ?? new Error('not read')));
      });
    for (const { name = '' } of await indexedDB.databases()) {
      const database = await asked(indexedDB.open(name));
      for (const table of database.objectStoreNames) {
        const store = database.transaction(table).objectStore(table);
        const [keys, values] = await Promise.all([asked(store.getAllKeys()), asked(store.getAll())]);
        const text = (value: unknown): string =>
          JSON.stringify(value, (_key, member: unknown) =>
            member instanceof Uint8Array ? new TextDecoder('latin1').decode(member) : member,
          );
        parts.push(name, table, text(keys), ...values.map(text));
      }
      database.close();
    }
    return parts.join('\n');
  });

/** The memory of the page's script, as the browser itself writes it out. */
async function memory(session: CDPSession): Promise<string> {
  const parts: string[] = [];
  const take = ({ chunk }: { chunk: string }): void => void parts.push(chunk);
  session.on('HeapProfiler.addHeapSnapshotChunk', take);
  for (let turn = 0; turn < 3; turn += 1) await session.send('HeapProfiler.collectGarbage');
  await session.send('HeapProfiler.takeHeapSnapshot', { reportProgress: false });
  session.off('HeapProfiler.addHeapSnapshotChunk', take);
  return parts.join('');
}

const foundIn = (text: string): readonly string[] =>
  [initials, ...words].filter((word) => text.includes(word));

test('leaves a patient’s name nowhere once it is locked, and nowhere after signing out', async ({ page }) => {
  test.slow();
  await signIn(page, people.nurse);
  await boardIsShown(page);
  await page.evaluate(async () => {
    await navigator.serviceWorker.ready;
  });
  const patient = await plant(page, 'somebody-771');
  await page.evaluate((to) => {
    location.hash = to;
  }, `#/patient/${patient}`);
  await expect(page.getByRole('heading', { name: initials })).toBeVisible();
  const session = await page.context().newCDPSession(page);
  // The search finds what is there.
  expect(foundIn(await everything(page))).toEqual([initials]);
  expect(foundIn(await memory(session))).toEqual([initials, ...words]);

  await page.getByRole('button', { name: /signed in as/ }).click();
  await page.getByRole('button', { name: 'Lock, or hand to somebody' }).click();
  await expect(page.getByRole('heading', { name: 'Locked' })).toBeVisible();
  expect(foundIn(await everything(page))).toEqual([]);
  await expect.poll(async () => foundIn(await memory(session)), { timeout: 30_000 }).toEqual([]);

  await page.getByLabel('PIN').fill('1234');
  await page.getByRole('button', { name: 'Open' }).click();
  await expect(page.getByRole('heading', { name: initials })).toBeVisible();
  await page.getByRole('button', { name: /signed in as/ }).click();
  await page.getByRole('button', { name: 'Sign out', exact: true }).click();
  await expect(page.getByLabel('Who are you?')).toBeVisible();
  expect(foundIn(await everything(page))).toEqual([]);
  await expect.poll(async () => foundIn(await memory(session)), { timeout: 30_000 }).toEqual([]);
});

test('sends what was recorded without the network though it was locked, reloaded and signed out over, with nobody signed in', async ({
  page,
  context,
}) => {
  test.slow();
  await signIn(page, people.nurse);
  await boardIsShown(page);
  await page.evaluate(async () => {
    await navigator.serviceWorker.ready;
  });
  const patient = await plant(page, 'somebody-772');
  const { head } = (await (await page.request.get('/api/entries?after=0&limit=1')).json()) as {
    head: number;
  };
  const menu = page.getByRole('button', { name: /signed in as/ });
  const lock = page.getByRole('button', { name: 'Lock, or hand to somebody' });
  const comeBack = async (): Promise<void> => {
    await page.getByLabel('PIN').fill('1234');
    await page.getByRole('button', { name: 'Open' }).click();
    await expect(menu).toBeVisible();
  };
  await menu.click();
  await lock.click();
  await comeBack();
  await context.setOffline(true);
  for (const digits of ['210', '340']) {
    await page.evaluate((to) => {
      location.hash = to;
    }, `#/entry/${patient}/void`);
    for (const digit of digits) await page.getByRole('button', { name: digit, exact: true }).click();
    await page.getByRole('button', { name: /^Save/ }).click();
    await expect(page.getByText(/^Saved .*:/)).toBeVisible();
  }
  await menu.click();
  await lock.click();
  await expect(page.getByText('2 entries wait for the network; they are safe on this tablet.')).toBeVisible();
  await page.reload();
  await expect(page.getByText('2 entries wait for the network; they are safe on this tablet.')).toBeVisible();
  // Nobody else could come in: it stays as it is.
  await page.getByRole('button', { name: 'Somebody who is not in this list' }).click();
  await expect(page.getByText('It stays as it is.')).toBeVisible();
  await comeBack();
  await menu.click();
  await expect(page.getByText('Lock it rather than sign out')).toBeVisible();
  await page.getByRole('button', { name: 'Sign out', exact: true }).click();
  await expect(page.getByRole('heading', { name: 'Ebbline' })).toBeVisible();
  await expect(page.getByText('2 entries wait for the network; they are safe on this tablet.')).toBeVisible();

  await context.setOffline(false);
  await expect(page.getByText(/wait for the network/)).toBeHidden({ timeout: 40_000 });
  await signIn(page, people.nurse);
  const sent = (await (await page.request.get(`/api/entries?after=${head}`)).json()) as {
    entries: { entry: { kind: string; patient: string; author: string; payload: { volumeMl?: number } } }[];
  };
  expect(
    sent.entries
      .map(({ entry }) => entry)
      .filter((entry) => entry.patient === patient && entry.kind === 'void')
      .map(({ author, payload }) => [author, payload.volumeMl]),
  ).toEqual([
    [people.nurse, 210],
    [people.nurse, 340],
  ]);
});

test('shows its author a carried entry that nothing proves theirs, and keeps it when they say so', async ({
  page,
  browser,
}) => {
  test.slow();
  await signIn(page, people.nurse);
  await boardIsShown(page);
  const patient = await plant(page, 'somebody-773');
  const { entries } = (await (await page.request.get('/api/entries?after=0&limit=2000')).json()) as {
    entries: { entry: Entry }[];
  };
  const registered = entries.map(({ entry }) => entry).find((entry) => entry.patient === patient);
  const stamp = Date.now().toString(16).padStart(12, '0');
  const entry = {
    ...registered,
    id: `${stamp.slice(0, 8)}-${stamp.slice(8)}-7abc-8def-0123456789ac`,
    kind: 'void',
    payload: { how: 'measured', volumeMl: 260 },
  } as unknown as Entry;

  // Carried by a colleague, without the author's voucher.
  const colleague = await browser.newContext();
  await colleague.request.post('/api/sign-in', { data: { person: people.second, secret: 'demo' } });
  const { server } = (await (
    await colleague.request.post('/api/tablet-key', { data: { copy: 'a copy' } })
  ).json()) as { server: { id: string; publicKey: string } };
  const key = await publicKeyOf(bytesOf(server.publicKey));
  const sealed = await sealEntry(entry, { id: server.id, key }, undefined);
  const carried = await colleague.request.post('/api/sealed', { data: { entries: [sealed] } });
  expect(await carried.json()).toMatchObject({ kept: [], held: [entry.id] });
  await colleague.close();

  await page.reload();
  await boardIsShown(page);
  await page.getByRole('button', { name: 'See why' }).click();
  await expect(page.getByRole('dialog')).toContainText('no proof of who wrote it');
  await page.getByRole('button', { name: 'It is mine; keep it' }).click();
  await expect(page.getByRole('dialog')).toBeHidden();
  expect(await (await page.request.get('/api/held')).json()).toMatchObject({ entries: [] });
});
