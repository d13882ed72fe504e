/** Signing in with a secret, changing hands by PIN, locking, signing out. */
import { z } from 'zod';
import { controlIsOn, refuse, type Refusal } from '@ebbline/core/quantity';
import { refusalBody, tooMany } from '../../answers.ts';
import { freeTries } from '../../accounts/tries.ts';
import { signInSession } from '../../accounts/sign-in-session.ts';
import type { App, Parts } from '../../parts.ts';
import { anybody } from '../../rules.ts';
import { personShape } from '../me/me.ts';

const id = z.string().min(1).max(120);
const secret = z.string().min(1).max(200);

export const wrongSecret = (): Refusal =>
  refuse('server/wrong-secret', {
    asked: 'Sign-in',
    found: 'a name and secret that do not belong together',
    allowed: 'a person of this unit with their own secret',
    todo: 'Check the name and enter the secret again.',
  });
export const wrongPin = (): Refusal =>
  refuse('server/wrong-pin', {
    asked: 'Change of hands',
    found: 'a PIN that does not belong to this person',
    allowed: "the person's own PIN",
    todo: 'Enter the PIN again, or sign in with the secret.',
  });
export const pinOff = (): Refusal =>
  refuse('server/pin-off', {
    asked: 'Change of hands',
    found: `${freeTries} wrong PINs in a row`,
    allowed: `fewer than ${freeTries} wrong PINs in a row`,
    todo: 'Sign in with the secret; the PIN works again after that.',
  });
export const noTablet = (): Refusal =>
  refuse('server/sign-in-first', {
    asked: 'Change of hands',
    found: 'a tablet on which nobody has signed in during this shift',
    allowed: 'a PIN on a tablet that somebody signed in on with a secret',
    todo: 'Sign in with the secret.',
  });

export function signInRoutes(app: App, parts: Parts): void {
  const { accounts, directory, sessions, pace, pinTries, cookie, now } = parts;
  const limited = { rateLimit: { max: parts.signInsPerMinute, timeWindow: 60_000 } };

  const { tokenOf, note, open, refused } = signInSession(parts);

  app.route({
    method: 'POST',
    url: '/api/sign-in',
    config: { rule: anybody, ...limited },
    schema: {
      tags: ['people'],
      body: z.strictObject({ person: id, secret }),
      response: { 200: z.object({ person: personShape }), 401: refusalBody, 429: refusalBody },
    },
    handler: async (request, reply) => {
      const nowMs = now();
      const waitMs = await pace.begin(request.body.person, request.ip, nowMs);
      if (waitMs > 0) {
        void reply.header('retry-after', Math.ceil(waitMs / 1000));
        return refused(request, request.body.person, 429, tooMany(waitMs));
      }
      const person = directory.person(request.body.person);
      const right = await accounts.secretIs(request.body.person, request.body.secret);
      if (!right || person === undefined) return refused(request, request.body.person, 401, wrongSecret());
      await pace.right(person.id, request.ip);
      await pinTries.right(person.id);
      return open(request, reply, person, { action: 'signed-in', way: 'secret' });
    },
  });

  app.route({
    method: 'POST',
    url: '/api/switch',
    config: { rule: anybody, ...limited },
    schema: {
      tags: ['people'],
      body: z.strictObject({ person: id, pin: z.string().min(1).max(40) }),
      response: { 200: z.object({ person: personShape }), 401: refusalBody, 429: refusalBody },
    },
    handler: async (request, reply) => {
      const nowMs = now();
      const held = await sessions.find(tokenOf(request), nowMs);
      if (held === undefined) return refused(request, request.body.person, 401, noTablet());
      if (!(await pinTries.beginOf(freeTries, request.body.person, nowMs)) && controlIsOn('H12-pin-tries'))
        return refused(request, request.body.person, 401, pinOff());
      const person = directory.person(request.body.person);
      const right = await accounts.pinIs(request.body.person, request.body.pin);
      if (!right || person === undefined) return refused(request, request.body.person, 401, wrongPin());
      await pinTries.right(person.id);
      return open(request, reply, person, {
        action: 'switched',
        way: 'pin',
        openedMs: held.session.openedMs,
      });
    },
  });

  app.route({
    method: 'POST',
    url: '/api/lock',
    config: { rule: anybody },
    schema: {
      tags: ['people'],
      description: 'The tablet locked: its session reads and writes nothing until a PIN or a secret.',
      response: { 204: z.null() },
    },
    handler: async (request, reply) => {
      await sessions.lock(tokenOf(request));
      return reply.code(204).send(null);
    },
  });

  app.route({
    method: 'POST',
    url: '/api/sign-out',
    config: { rule: anybody },
    schema: { tags: ['people'], response: { 200: z.object({ signedOut: z.literal(true) }) } },
    handler: async (request, reply) => {
      const held = await sessions.find(tokenOf(request), now());
      await sessions.end(tokenOf(request));
      if (held) await note(request, 'signed-out', held.session.person);
      void reply.clearCookie(cookie.name, { path: '/' });
      // Takes away what the browser kept of answers; the record on the tablet is the screens' own to wipe.
      void reply.header('clear-site-data', '"cache"');
      return { signedOut: true as const };
    },
  });
}
