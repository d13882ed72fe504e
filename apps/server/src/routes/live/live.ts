/** The live line: server-sent events, resumed by Last-Event-ID. */
import { z } from 'zod';
import type { App, Parts } from '../../parts.ts';
import { keptByHandler, ruleRefusal, viewers, type Actor } from '../../rules.ts';
import { actorOf } from '../../accounts/actor.ts';
import { keptReads } from '../entries/kept-reads.ts';

const cursor = /^\d{1,15}$/;

export function liveRoutes(app: App, parts: Parts): void {
  const rule = keptByHandler(viewers('board', 'patient'));
  app.route({
    method: 'GET',
    url: '/api/live',
    exposeHeadRoute: false,
    config: { rule },
    schema: {
      tags: ['record'],
      description:
        'text/event-stream, of the patients whom the caller follows. `entry`: id = cursor once it is taken, data = KeptEntry with {after, through}, the cursors before and then. `left`: data = {patients} who are followed no longer. `alive`: every 5 s, data = {serverTime, head, protocolActs}, head = how far this line has handed out. `ended`: the session is over. Last-Event-ID (or ?after=) reads on from there; without it only what is new.',
      querystring: z.strictObject({
        after: z.string().regex(cursor).optional(),
        scope: z.string().max(4000).optional(),
      }),
    },
    handler: async (request, reply) => {
      await keptReads(parts, request, 'live');
      const header = request.headers['last-event-id'];
      const given = typeof header === 'string' && cursor.test(header) ? header : request.query.after;
      // Asked again at every beat. A session goes on while its line is open: the tablet locks itself, tells the server,
      // and the line ends.
      const mayGoOn = async (): Promise<boolean> =>
        ruleRefusal(rule, await actorOf(parts, request)) === undefined;
      for (const [name, value] of Object.entries(reply.getHeaders()))
        if (value !== undefined) reply.raw.setHeader(name, value);
      reply.hijack();
      reply.raw.writeHead(200, {
        'content-type': 'text/event-stream; charset=utf-8',
        'x-accel-buffering': 'no',
      });
      request.socket.setNoDelay(true);
      request.socket.setTimeout(0);
      const actor = request.actor as Actor;
      // A person's wards may change while the line is open.
      const { personal } = await parts.reaches.scopeOf(actor, parts.now());
      const scopeOf = () => parts.reaches.scopeAgain(parts.reaches.asIs(actor), parts.now(), personal);
      const isOther = request.query.scope !== undefined && request.query.scope !== scopeOf().key;
      await parts.live.join(reply.raw, {
        // A cursor is good for one scope; with another the line begins at the beginning.
        after: given === undefined ? undefined : isOther ? 0 : Number(given),
        mayGoOn,
        scopeOf,
        ...(actor.kind === 'person' ? { person: actor.id } : {}),
      });
    },
  });
}
