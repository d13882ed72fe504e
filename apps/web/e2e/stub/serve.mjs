// A stand-in for the server in browser tests of the web alone: one process, everything in memory.
// It speaks the routes that the web uses and can be cut off, filled and read by the tests through /test/*.
import { createReadStream, existsSync, readFileSync } from 'node:fs';
import { createServer } from 'node:http';
import { extname, join, normalize } from 'node:path';
import { checkEntry } from '@ebbline/core/record';
import { isRefusal, refuse } from '@ebbline/core/quantity';
import { base64Of, issueVoucher, makeKeyPair, openSealed, utf8 } from '@ebbline/store/sealed';

const port = Number(process.env.PORT ?? 4173);
const dist = new URL('../../dist', import.meta.url).pathname;
const patients = Number(process.env.LOAD_PATIENTS ?? 0);
const startMs = Number(process.env.NOW_MS ?? Date.now());
const { demoWorld, loadWard } = process.env.WORLD ? {} : await import('@ebbline/simulate');
const world = process.env.WORLD
  ? JSON.parse(readFileSync(process.env.WORLD, 'utf8'))
  : patients > 0
    ? loadWard({ seed: 6, patients, nowMs: startMs })
    : demoWorld({ seed: 6, nowMs: startMs });

const sealing = await makeKeyPair(true);
const publicKey = base64Of(new Uint8Array(await crypto.subtle.exportKey('raw', sealing.publicKey)));
let kept = [];
let byId = new Map();
const lines = new Set();
const people = new Map(world.directory.people.map((person) => [person.id, person]));

function keep(entry) {
  const json = JSON.stringify(entry);
  const before = byId.get(entry.id);
  if (before)
    return JSON.stringify(before.entry) === json
      ? { id: entry.id, sequence: before.sequence, receivedAt: before.receivedAt, known: true }
      : undefined;
  const row = { entry, sequence: kept.length + 1, receivedAt: new Date().toISOString() };
  kept.push(row);
  byId.set(entry.id, row);
  for (const line of lines) line.write(`event: entry\nid: ${row.sequence}\ndata: ${JSON.stringify(row)}\n\n`);
  return { id: entry.id, sequence: row.sequence, receivedAt: row.receivedAt, known: false };
}

const fill = () => {
  kept = [];
  byId = new Map();
  for (const entry of world.entries) keep(entry);
};
fill();

const types = {
  '.html': 'text/html; charset=utf-8',
  '.js': 'text/javascript',
  '.css': 'text/css',
  '.svg': 'image/svg+xml',
  '.woff2': 'font/woff2',
  '.webmanifest': 'application/manifest+json',
};
const json = (response, status, body, headers = {}) =>
  response.writeHead(status, { 'content-type': 'application/json', ...headers }).end(JSON.stringify(body));
const body = async (request) => {
  let text = '';
  for await (const part of request) text += part;
  return text === '' ? {} : JSON.parse(text);
};
const whoIs = (request) => people.get(/ebbline=([\w-]+)/.exec(request.headers.cookie ?? '')?.[1] ?? '');
const no = (status, code, todo) => [
  status,
  { refusal: refuse(code, { asked: 'Request', found: 'something else', allowed: 'what was agreed', todo }) },
];

createServer(async (request, response) => {
  const url = new URL(request.url, `http://${request.headers.host}`);
  const route = `${request.method} ${url.pathname}`;
  const me = whoIs(request);
  if (route === 'POST /test/reset') return (fill(), json(response, 200, {}));
  if (route === 'GET /test/entries')
    return json(response, 200, { entries: kept.slice(world.entries.length) });
  if (route === 'GET /healthz') return json(response, 200, { ok: true, demo: true });
  if (route === 'GET /api/welcome')
    return json(response, 200, {
      organisation: world.directory.organisation,
      people: world.directory.people,
      demo: true,
      secret: 'demo',
      pin: '1234',
    });
  if (route === 'POST /api/lock') return response.writeHead(204).end();
  if (route === 'POST /api/sign-in' || route === 'POST /api/switch') {
    const { person, secret, pin } = await body(request);
    const found = people.get(person);
    if (!found || (secret ?? pin) !== (route.endsWith('sign-in') ? 'demo' : '1234'))
      return json(response, ...no(401, 'server/wrong-secret', 'That was not right. Try again.'));
    return json(
      response,
      200,
      { person: found },
      { 'set-cookie': `ebbline=${found.id}; Path=/; HttpOnly; SameSite=Strict` },
    );
  }
  if (route === 'POST /api/sealed') {
    const { entries } = await body(request);
    const opened = await Promise.all(entries.map((one) => openSealed(one, sealing)));
    for (const one of opened) keep(JSON.parse(one.text));
    return json(response, 200, { kept: entries.map(({ id }) => id), held: [], refused: [] });
  }
  if (route === 'POST /api/sign-out')
    return json(response, 200, {}, { 'set-cookie': 'ebbline=; Path=/; Max-Age=0' });
  if (url.pathname.startsWith('/api/')) {
    if (!me) return json(response, ...no(401, 'server/signed-out', 'Sign in again.'));
    if (route === 'POST /api/tablet-key') {
      const { id: person, role, wards } = me;
      const voucher = { person, role, wards, issuedMs: 0, untilMs: 0 };
      return json(response, 200, {
        part: base64Of(utf8('one part for everybody of this unit')),
        server: { id: 'key-1', publicKey },
        voucher: await issueVoucher(utf8('a secret'), voucher),
      });
    }
    if (route === 'GET /api/held') return json(response, 200, { entries: [], others: 0 });
    if (route === 'GET /api/me') return json(response, 200, { person: me });
    if (route === 'GET /api/directory') return json(response, 200, world.directory);
    if (route === 'GET /api/entries') {
      const after = Number(url.searchParams.get('after') ?? 0);
      return json(response, 200, {
        entries: kept.slice(after, after + Number(url.searchParams.get('limit') ?? 500)),
        head: kept.length,
      });
    }
    if (route === 'POST /api/entries') {
      const report = { kept: [], refused: [] };
      for (const given of (await body(request)).entries) {
        const entry = checkEntry(given, Number.MAX_SAFE_INTEGER);
        if (isRefusal(entry)) report.refused.push({ id: given.id, refusal: entry });
        else if (entry.author !== me.id)
          report.refused.push({
            id: entry.id,
            refusal: refuse('server/author-not-you', {
              asked: 'Entry',
              found: 'another author',
              allowed: 'who is signed in',
              todo: 'Sign in as yourself.',
            }),
          });
        else report.kept.push(keep(entry));
      }
      return json(response, 200, report);
    }
    if (route === 'GET /api/live') {
      response.writeHead(200, { 'content-type': 'text/event-stream', 'cache-control': 'no-store' });
      lines.add(response);
      const alive = () =>
        response.write(
          `event: alive\ndata: ${JSON.stringify({ serverTime: new Date().toISOString(), head: kept.length })}\n\n`,
        );
      for (const row of kept.slice(Number(url.searchParams.get('after') ?? kept.length)))
        response.write(`event: entry\nid: ${row.sequence}\ndata: ${JSON.stringify(row)}\n\n`);
      alive();
      const timer = setInterval(alive, 5000);
      request.on('close', () => (lines.delete(response), clearInterval(timer)));
      return undefined;
    }
    return json(response, ...no(404, 'server/no-such-route', 'Ask for another.'));
  }
  const file = normalize(join(dist, url.pathname === '/' ? 'index.html' : url.pathname));
  if (!file.startsWith(dist) || !existsSync(file)) return response.writeHead(404).end();
  response.writeHead(200, {
    'content-type': types[extname(file)] ?? 'application/octet-stream',
    'cache-control': 'no-cache',
  });
  return createReadStream(file).pipe(response);
}).listen(port, '127.0.0.1', () => console.log(`listening on ${port}`));
