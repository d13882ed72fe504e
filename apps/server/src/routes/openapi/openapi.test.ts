// Proves     /openapi.json describes every address, and its schema of an entry takes what the record takes
// Published  OpenAPI 3.1 (S-server-openapi-3.1): the members read here; entries are judged by a JSON Schema validator
//            that is not ours (the one inside the HTTP framework)
// Tolerance  exact
import Fastify from 'fastify';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { isRefusal } from '@ebbline/core/quantity';
import { checkEntry, entryKinds } from '@ebbline/core/record';
import { demoWorld } from '@ebbline/simulate';
import { openWorld, startMs, type World } from '../../testing/world.ts';

interface Document {
  openapi: string;
  paths: Record<string, Record<string, { requestBody?: unknown; responses: unknown }>>;
  components: { schemas: Record<string, Record<string, unknown>> };
}
let world: World;
let document: Document;
beforeAll(async () => {
  world = await openWorld();
  document = (await world.get('/openapi.json')).json();
});
afterAll(() => world.server.close());

describe('the description of the API', () => {
  it('is OpenAPI 3.1 and holds every address with its methods', () => {
    expect(document.openapi).toBe('3.1.0');
    const described = Object.entries(document.paths).flatMap(([path, methods]) =>
      Object.keys(methods).map((method) => `${method.toUpperCase()} ${path}`),
    );
    const served = world.server.ebbline.routes
      .filter(({ method, url }) => method !== 'HEAD' && url !== '/*' && url !== '/openapi.json')
      .map(({ method, url }) => `${method} ${url.replace(/:(\w+)/g, '{$1}')}`);
    expect(described.sort()).toEqual(served.sort());
  });

  it('has no reference that leads nowhere', () => {
    const references = [...JSON.stringify(document).matchAll(/"\$ref":"([^"]+)"/g)].map(
      (match) => match[1] as string,
    );
    expect(references.length).toBeGreaterThan(entryKinds.length);
    for (const reference of references)
      expect(document.components.schemas[reference.replace('#/components/schemas/', '')]).toBeDefined();
  });

  it('describes entries so that a validator of others agrees with the record, entry for entry, good and spoilt', async () => {
    const judge = Fastify({
      ajv: {
        customOptions: {
          strict: false,
          coerceTypes: false,
          removeAdditional: false,
          useDefaults: false,
          discriminator: false,
        },
      },
    });
    const schemas = Object.fromEntries(
      Object.entries(document.components.schemas).map(([name, schema]) => [
        name,
        JSON.parse(JSON.stringify(schema).replaceAll('#/components/schemas/', '#/definitions/')),
      ]),
    );
    judge.post('/', { schema: { body: { ...schemas['Entry'], definitions: schemas } } }, async () => 'good');
    await judge.ready();
    const isGood = async (value: unknown): Promise<boolean> =>
      (await judge.inject({ method: 'POST', url: '/', payload: value as object })).statusCode === 200;

    const { entries } = demoWorld({ seed: 7, nowMs: startMs, pastEpisodes: 6 });
    const step = Math.ceil(entries.length / 300);
    let good = 0;
    let spoilt = 0;
    for (const entry of entries.filter((_, index) => index % step === 0)) {
      expect(isRefusal(checkEntry(entry, startMs))).toBe(false);
      expect(await isGood(entry)).toBe(true);
      good += 1;
      const others = [
        { ...entry, payload: { ...entry.payload, volumeL: 1 } },
        { ...entry, kind: 'something-else' },
        { ...entry, effectiveAt: undefined },
      ];
      for (const other of others) {
        expect(isRefusal(checkEntry(other, startMs))).toBe(true);
        expect(await isGood(other)).toBe(false);
        spoilt += 1;
      }
    }
    expect(good).toBeGreaterThan(100);
    expect(spoilt).toBe(3 * good);
    await judge.close();
  });
});
