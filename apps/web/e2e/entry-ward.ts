// A made-up ward for the browser tests of the bedside pages: the worked patient and two neighbours, served to the page
// in place of a server, so that what is sent can be looked at.
import { expect, type Page } from '@playwright/test';
import { defaultSettings, type Directory, type Entry } from '@ebbline/core/record';
import { base64Of, issueVoucher, makeKeyPair, utf8 } from '@ebbline/store/sealed';
import { entry, workedEntries } from '../src/features/patient/testing/worked-patient.ts';

export const people = [
  { id: 'kl', name: 'Kara Lund', initials: 'K.L.', role: 'nurse', wards: ['ward-six'] },
  { id: 'da', name: 'Dora Anselm', initials: 'D.A.', role: 'nurse', wards: ['ward-six'] },
  { id: 'so', name: 'Sim Orell', initials: 'S.O.', role: 'aide', wards: ['ward-six'] },
] as const;

export const directory: Directory = {
  organisation: 'coast',
  people: [...people],
  scanners: [
    { id: 'a', name: 'Scanner A', ward: 'ward-six' },
    { id: 'b', name: 'Scanner B', ward: 'ward-six' },
  ],
  wards: [
    {
      id: 'ward-six',
      name: 'Ward Six',
      purpose: 'knees and hips',
      hospital: 'Farrow Sound',
      zone: 'Etc/UTC',
      beds: ['4', '6', '9'],
      settings: { ...defaultSettings, lockAfterS: 3600 },
      shiftChanges: ['07:00', '19:00'],
    },
  ],
};

const neighbour = (patient: string, bed: string, familyName: string): Entry =>
  ({
    ...entry('12:00', 'patient-registered', {
      familyName,
      givenName: 'Ole',
      ageYears: 78,
      sex: 'male',
      identifierSystem: 'urn:coast',
      identifierValue: `X-${bed}`,
      ward: 'ward-six',
      bed,
    }),
    patient,
  }) as Entry;

export const wardEntries: readonly Entry[] = [
  ...workedEntries,
  neighbour('p-6', '6', 'Brandt'),
  neighbour('p-9', '9', 'Iversen'),
];

/** What the server gives for the copy on a tablet. Nothing that is sealed with it is ever opened here. */
async function tabletKey(person: string) {
  const { publicKey } = await makeKeyPair(false);
  const raw = base64Of(new Uint8Array(await crypto.subtle.exportKey('raw', publicKey)));
  const voucher = { person, role: 'nurse', wards: [], issuedMs: 0, untilMs: 0 } as const;
  return {
    part: base64Of(utf8('one part for everybody of this ward')),
    server: { id: 'key-1', publicKey: raw },
    voucher: await issueVoucher(utf8('a secret'), voucher),
  };
}

export interface Sent {
  readonly entries: Entry[];
}

/** Opens a page of the ward at a time of the day, signed in as one of its people. */
export async function openWard(
  page: Page,
  hash: string,
  options: {
    readonly clock?: string;
    readonly person?: string;
    readonly entries?: readonly Entry[];
    readonly theme?: 'light' | 'night';
  } = {},
): Promise<Sent> {
  const me = people.find((one) => one.id === (options.person ?? 'kl')) ?? people[0];
  const kept = [...(options.entries ?? wardEntries)];
  const sent: Entry[] = [];
  const key = await tabletKey(me.id);
  await page.clock.install({ time: new Date(`2026-05-14T${options.clock ?? '18:30'}:00Z`) });
  await page.addInitScript(
    ([person, theme]) => {
      localStorage.setItem(`ebbline.theme.${person}`, theme as string);
      localStorage.setItem('ebbline.touch', String(Date.now()));
      localStorage.setItem('ebbline.locked', 'no');
    },
    [me.id, options.theme ?? 'light'],
  );
  // A live line that stays open, as the real one does.
  await page.addInitScript(() => {
    class Line extends EventTarget {
      constructor() {
        super();
        setTimeout(() => {
          this.dispatchEvent(new Event('open'));
          this.dispatchEvent(new MessageEvent('alive', { data: '{"head":0}' }));
        }, 20);
        setInterval(() => this.dispatchEvent(new MessageEvent('alive', { data: '{"head":0}' })), 5000);
      }
      close(): void {}
    }
    Object.assign(globalThis, { EventSource: Line });
  });
  await page.route('**/healthz', (route) => route.fulfill({ json: { demo: true } }));
  await page.route('**/api/**', (route) => {
    const request = route.request();
    const url = new URL(request.url());
    if (url.pathname === '/api/welcome')
      return route.fulfill({ json: { organisation: 'coast', people, demo: true } });
    if (url.pathname === '/api/tablet-key') return route.fulfill({ json: key });
    if (url.pathname === '/api/lock') return route.fulfill({ status: 204 });
    if (url.pathname === '/api/me') return route.fulfill({ json: me });
    if (url.pathname === '/api/directory') return route.fulfill({ json: directory });
    if (url.pathname === '/api/entries' && request.method() === 'GET') {
      const after = Number(url.searchParams.get('after') ?? '0');
      const rows = kept
        .map((one, index) => ({ entry: one, receivedAt: one.recordedAt, sequence: index + 1 }))
        .filter((one) => one.sequence > after);
      return route.fulfill({ json: { entries: rows, head: kept.length } });
    }
    if (url.pathname === '/api/entries') {
      const { entries } = request.postDataJSON() as { entries: Entry[] };
      const fresh = entries.filter((one) => !kept.some((old) => old.id === one.id));
      kept.push(...fresh);
      sent.push(...fresh);
      return route.fulfill({
        json: {
          kept: entries.map((one) => ({
            id: one.id,
            sequence: kept.findIndex((old) => old.id === one.id) + 1,
            receivedAt: one.recordedAt,
          })),
          refused: [],
        },
      });
    }
    return route.fulfill({ status: 404, json: {} });
  });
  await page.goto(`/${hash}`);
  // What a person waits for too: the form has the keys, or the page has its step.
  if (/^#\/entry\/[^/]+\/./.test(hash)) await expect(page.locator('[data-form]')).toBeFocused();
  return { entries: sent };
}
