// Proves     the server's reports and bundle are made from the facts that it folds, and leave a row in the audit
// Published  PDF files begin with %PDF- (ISO 32000-1, 7.5.2; S-server-iso-32000)
// Tolerance  exact
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { openWorld, type World } from '../../testing/world.ts';

let world: World;
let cookie: string;
beforeAll(async () => {
  world = await openWorld();
  cookie = await world.signIn('nurse');
  const entries = [
    world.registered('p1'),
    world.entry('watch-opened', { setting: 'after-surgery', reason: 'spinal block' }),
    world.entry('reading', { result: 'exact', volumeMl: 320, relation: 'no-void', doubts: [] }),
  ];
  const answer = await world.post('/api/entries', { entries }, { cookie });
  expect(answer.json().refused).toEqual([]);
});
afterAll(() => world.server.close());

describe('the printed things', () => {
  for (const [url, name] of [
    ['/api/reports/handover.pdf?ward=harbour-3', 'handover'],
    ['/api/reports/patient.pdf?patient=p1', 'patient'],
  ] as const) {
    it(`${name}.pdf comes as a PDF that nobody else keeps, under a name without a patient`, async () => {
      const answer = await world.get(url, { cookie });
      expect(answer.statusCode).toBe(200);
      expect(answer.headers['content-type']).toBe('application/pdf');
      expect(answer.headers['cache-control']).toBe('no-store');
      expect(answer.headers['content-disposition']).toBe(`inline; filename="${name}.pdf"`);
      expect(answer.rawPayload.subarray(0, 5).toString()).toBe('%PDF-');
      expect(answer.rawPayload.length).toBeGreaterThan(2_000);
    });
  }

  it('are refused for a ward or a patient that is not there', async () => {
    const ward = await world.get('/api/reports/handover.pdf?ward=nowhere', { cookie });
    expect([ward.statusCode, ward.json().refusal.code]).toEqual([404, 'server/unknown-ward']);
    const patient = await world.get('/api/reports/patient.pdf?patient=p9', { cookie });
    expect([patient.statusCode, patient.json().refusal.code]).toEqual([404, 'server/unknown-patient']);
    expect((await world.get('/api/reports/patient.pdf', { cookie })).statusCode).toBe(400);
  });
});

describe('the bundle', () => {
  it('holds the reading that was kept, in mL', async () => {
    const answer = await world.get('/api/patients/p1/bundle', { cookie });
    expect(answer.headers['content-type']).toContain('application/fhir+json');
    const bundle = answer.json() as {
      type: string;
      entry: { resource: { resourceType: string; valueQuantity?: { value: number; code: string } } }[];
    };
    expect(bundle.type).toBe('transaction');
    const volumes = bundle.entry
      .map(({ resource }) => resource.valueQuantity)
      .filter((value) => value?.value === 320);
    expect(volumes.map((value) => value?.code)).toContain('mL');
  });
});

describe('the audit', () => {
  it('has a row for each of them, naming who took what of whom', async () => {
    const officer = await world.signIn('privacy-officer');
    const { rows } = (await world.get('/api/audit?after=0&limit=100', { cookie: officer })).json() as {
      rows: { action: string; actor: string; subject: string; patient?: string }[];
    };
    const exported = rows
      .filter(({ action }) => action === 'exported')
      .map(({ actor, subject, patient }) => [actor, subject, patient]);
    expect(exported).toEqual([
      ['nurse', 'handover.pdf harbour-3', undefined],
      ['nurse', 'patient.pdf', 'p1'],
      ['nurse', 'fhir-bundle', 'p1'],
    ]);
  });
});
