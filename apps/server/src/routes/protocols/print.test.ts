// Proves     whoever may open protocols gets a version or an example as PDF and as a PlanDefinition, with its standing: an example,
//            waiting, signed, retired; a version that was never sent is not found; the taking is noted, with no patient.
import { beforeEach, describe, expect, it } from 'vitest';
import { orThrow } from '@ebbline/core/quantity';
import { modelOf, starterFor, writeDmn, type CompiledProtocol } from '@ebbline/protocol';
import { openWorld, pin, type World } from '../../testing/world.ts';

const surgery = starterFor('after-surgery') as CompiledProtocol;
let world: World;
let cookie: string;
beforeEach(async () => {
  world = await openWorld();
  cookie = await world.signIn('specialist-nurse');
});
const planOf = async (version: number): Promise<Record<string, unknown>> =>
  (await world.get(`/api/protocols/after-surgery/${version}/plan-definition`, { cookie })).json();

describe('a protocol to take away', () => {
  it('is a PDF: one page as flow sheet, more as tables', async () => {
    const pages = async (form: string): Promise<number> => {
      const answer = await world.get(
        `/api/protocols/after-surgery/${surgery.version}/${form}.pdf?ward=harbour-3`,
        { cookie },
      );
      expect([answer.statusCode, answer.headers['content-type']]).toEqual([200, 'application/pdf']);
      return answer.rawPayload.toString('latin1').match(/\/Type \/Page\n/g)?.length ?? 0;
    };
    expect(await pages('flow-sheet')).toBe(1);
    expect(await pages('tables')).toBeGreaterThan(1);
  });

  it('is a PlanDefinition: an example and a version that waits are drafts, a version taken back is retired', async () => {
    expect(await planOf(surgery.version)).toMatchObject({ resourceType: 'PlanDefinition', status: 'draft' });
    const dmn = orThrow(await writeDmn(modelOf(surgery)));
    const sent = (await world.post('/api/protocols', { ward: 'harbour-3', dmn }, { cookie })).json<{
      version: number;
    }>();
    expect(await planOf(sent.version)).toMatchObject({
      version: String(sent.version),
      status: 'draft',
      experimental: true,
    });
    const retired = await world.post(
      `/api/protocols/after-surgery/${sent.version}/retire`,
      { reason: 'A row was wrong.', pin },
      { cookie },
    );
    expect(retired.statusCode).toBe(200);
    expect(await planOf(sent.version)).toMatchObject({ status: 'retired' });
  });

  it('is not found when it was never sent, and not given to somebody who is not signed in', async () => {
    for (const form of ['flow-sheet.pdf', 'tables.pdf', 'plan-definition']) {
      const path = `/api/protocols/after-surgery/99/${form}`;
      expect((await world.get(path, { cookie })).statusCode).toBe(404);
      expect((await world.get(path)).statusCode).toBe(401);
    }
  });
});
