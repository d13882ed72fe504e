// Proves     route × role × ward: whoever a route names a patient or a ward to is held to their wards as core's table
//            says, in every place a name can stand, on every route that the router has
// Published  none; the tables are core/record/permissions.ts and the rules of the routes
// Tolerance  exact: 0 unexpected answers; rows come from the router, so that a new route is among them by itself
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { mayView, mayWrite, permissions, type Entry, type Role } from '@ebbline/core/record';
import type { App } from './parts.ts';
import type { RouteRule } from './build-server.ts';
import { openWorld, roleList, type World } from './testing/world.ts';

/** One patient on each ward; a person of every role is of the first. */
const places = [
  { ward: 'harbour-3', patient: 'p-own', lies: 'own-wards' },
  { ward: 'harbour-4', patient: 'p-next', lies: 'own-hospitals' },
  { ward: 'dune-1', patient: 'p-far', lies: 'organisation' },
] as const;
type Place = (typeof places)[number];
const extents = ['own-wards', 'own-hospitals', 'organisation'] as const;
const reaches = (role: Role, what: 'sees' | 'records', { lies }: Place): boolean =>
  extents.indexOf(permissions[role][what]) >= extents.indexOf(lies);

let world: World;
const cookies = new Map<Role, string>();
beforeAll(async () => {
  world = await openWorld();
  await Promise.all(roleList.map(async (role) => cookies.set(role, await world.signIn(role))));
  for (const { ward, patient } of places)
    await world.store.append(
      [
        world.registered(patient, { ward }),
        world.entry('void', { how: 'measured', volumeMl: 200 }, { patient }),
      ],
      { receivedAt: '2026-05-12T08:00:00Z', actor: 'nurse' },
    );
});
afterAll(() => world.server.close());

/** Status and code of a call, without waiting for the end of a stream. */
async function answerTo(
  { method, url, rule }: RouteRule,
  { ward, patient }: Place,
  role: Role,
): Promise<{ status: number; code: string | undefined }> {
  const within = rule.within;
  const names = { ward, patient };
  const path = url.replace(/:(\w+)/g, (_all, name: string) =>
    name in names ? names[name as 'ward' | 'patient'] : name === 'version' ? '1' : 'x',
  );
  const query =
    within?.by !== undefined && within.by !== 'handler' && within.part === 'query'
      ? `?${within.by}=${names[within.by]}`
      : '';
  // What every route that names a ward in its body takes; a fault elsewhere in it is answered before.
  const body = { ward, dmn: '<a/>', may: false };
  const stream = await world.server.inject({
    method: method as 'GET',
    url: path.replace('*', 'x') + query,
    headers: { cookie: cookies.get(role) ?? '' },
    payloadAsStream: true,
    ...(method === 'GET' || method === 'HEAD'
      ? {}
      : {
          payload:
            within?.by === 'ward' && within.part === 'body' ? { ward, dmn: '<a/>' } : { may: body.may },
        }),
  });
  const { statusCode: status } = stream;
  if (status < 400) {
    stream.stream().destroy();
    return { status, code: undefined };
  }
  let text = '';
  for await (const part of stream.stream()) text += String(part);
  return { status, code: text === '' ? undefined : JSON.parse(text).refusal?.code };
}

const outOfReach = ['server/other-ward', 'server/other-wards-patient'];

describe('routes by role and ward', () => {
  it('that name a patient or a ward say how their callers are held to their wards, or stop the start', async () => {
    const plain = { rule: { who: 'signed-in' } } as const;
    const forgotten: readonly ((app: App) => void)[] = [
      (app) => void app.get('/api/wards/:ward/forgotten', { config: plain }, async () => 'open'),
      (app) => void app.get('/api/patients/:patient/forgotten', { config: plain }, async () => 'open'),
    ];
    for (const add of forgotten)
      await expect(openWorld({ moreRoutes: add })).rejects.toThrow(/forgotten names a (ward|patient)/);
  });

  it('[H12-own-wards] answer 403 out of reach and never within it, for every role and every ward', async () => {
    const wrong: string[] = [];
    let checked = 0;
    let refused = 0;
    for (const route of world.server.ebbline.routes) {
      const { rule } = route;
      if (rule.within === undefined || rule.within.by === 'handler') continue;
      for (const role of roleList)
        for (const place of places) {
          const { status, code } = await answerTo(route, place, role);
          checked += 1;
          const mayOpen = rule.who === 'viewers' && rule.views.some((view) => mayView(role, view));
          const wanted = !mayOpen ? 'role' : reaches(role, 'sees', place) ? 'within' : 'out';
          const head = route.method === 'HEAD';
          const got =
            status === 403 && (head || code === 'server/not-for-this-role' || outOfReach.includes(code ?? ''))
              ? head
                ? wanted
                : outOfReach.includes(code ?? '')
                  ? 'out'
                  : mayOpen
                    ? 'within'
                    : 'role'
              : status >= 500
                ? 'failed'
                : 'within';
          refused += got === 'out' ? 1 : 0;
          if (got !== wanted)
            wrong.push(`${route.method} ${route.url} ${role} ${place.ward}: ${got} (${status} ${code})`);
          if (head && (wanted === 'within') === (status === 403))
            wrong.push(`HEAD ${route.url} ${role} ${place.ward}: ${status}`);
        }
    }
    expect(wrong).toEqual([]);
    expect(checked).toBeGreaterThan(300);
    expect(refused).toBeGreaterThan(60);
  });

  it('are each known to this table: by what they name, by what their handler keeps to, or as telling of no patient', () => {
    const of = (by: string | undefined): readonly string[] =>
      world.server.ebbline.routes
        .filter(({ rule, method }) => rule.within?.by === by && method !== 'HEAD')
        .map(({ method, url }) => `${method} ${url}`)
        .sort();
    // Each of these has its own rows below, or in the test beside its handler.
    expect(of('handler')).toEqual([
      'GET /api/entries',
      'GET /api/live',
      'GET /api/practice',
      'GET /api/wards/:ward/beds',
      'POST /api/entries',
      'POST /api/question',
      'POST /api/sealed',
    ]);
    expect(of('patient').length + of('ward').length).toBeGreaterThan(9);
    // What is left names nobody and gives no patient's data.
    expect(of(undefined)).toEqual(
      expect.arrayContaining(['GET /api/directory', 'GET /api/protocols', 'GET /api/me', 'POST /api/lock']),
    );
  });

  it('[H12-own-wards] hand out the entries of the own wards alone, and everything only to systems', async () => {
    for (const role of roleList) {
      const answer = await world.get('/api/entries', { cookie: cookies.get(role) ?? '' });
      if (!mayView(role, 'board') && !mayView(role, 'patient')) {
        expect(answer.statusCode, role).toBe(403);
        continue;
      }
      const { entries, patients } = answer.json() as {
        entries: readonly { entry: Entry }[];
        patients?: readonly string[];
      };
      const whom = [...new Set(entries.map(({ entry }) => entry.patient))];
      const everybody = permissions[role].sees === 'organisation';
      expect(whom, role).toEqual(everybody ? ['p-own', 'p-next', 'p-far'] : ['p-own']);
      expect(patients, role).toEqual(everybody ? undefined : ['p-own']);
    }
  });

  it('[H12-own-wards] take an entry within what a role records, and refuse it elsewhere, question included', async () => {
    const kinds = ['void', 'context', 'transferred', 'withdrawn'] as const;
    const wrong: string[] = [];
    let checked = 0;
    for (const role of roleList)
      for (const place of places)
        for (const kind of kinds) {
          if (!mayWrite(role, kind)) continue;
          const over = { patient: place.patient, author: role };
          const last = (await world.store.ofPatient(place.patient)).find(
            ({ entry }) => entry.kind === 'void',
          );
          const entry =
            kind === 'void'
              ? world.entry('void', { how: 'measured', volumeMl: 150 }, over)
              : kind === 'context'
                ? world.entry('context', { topic: 'weight-kg', value: 70 }, over)
                : kind === 'transferred'
                  ? world.entry('transferred', { ward: place.ward, bed: '2' }, over)
                  : world.entry('withdrawn', { of: last?.entry.id ?? '', reason: 'typing' }, over);
          if (kind === 'withdrawn' && !mayWrite(role, 'void')) continue;
          for (const url of ['/api/question', '/api/entries']) {
            if (url === '/api/question' && !mayView(role, 'patient')) continue;
            const answer = await world.post(url, { entries: [entry] }, { cookie: cookies.get(role) ?? '' });
            const code = answer.json().refused[0]?.refusal.code as string | undefined;
            const wanted = reaches(role, 'records', place) ? undefined : 'server/other-wards-patient';
            checked += 1;
            if (code !== wanted) wrong.push(`${url} ${role} ${kind} ${place.ward}: ${code}`);
          }
        }
    expect(wrong).toEqual([]);
    expect(checked).toBeGreaterThan(80);
  });
});
