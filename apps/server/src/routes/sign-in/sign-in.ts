/** Signing in with a secret, changing hands by PIN, locking, signing out. */
import type { FastifyReply, FastifyRequest } from 'fastify';
import { z } from 'zod';
import { controlIsOn, refuse, type Refusal } from '@ebbline/core/quantity';
import type { Person } from '@ebbline/core/record';
import type { AuditAction, SignInWay } from '@ebbline/store';
import { AnswerError, refusalBody, tooMany } from '../../answers.ts';
import { freeTries } from '../../accounts/tries.ts';
import { noteRequest } from '../../audit/note-request.ts';
import type { App, Parts } from '../../parts.ts';
import { anybody } from '../../rules.ts';
import { personShape } from '../me/me.ts';

const id = z.string().min(1).max(120);
const secret = z.string().min(1).max(200);

const wrongSecret = (): Refusal =>
  refuse('server/wrong-secret', {
    asked: 'Sign-in',
    found: 'a name and secret that do not belong together',
    allowed: 'a person of this unit with their own secret',
    todo: 'Check the name and enter the secret again.',
  });
const wrongPin = (): Refusal =>
  refuse('server/wrong-pin', {
    asked: 'Change of hands',
    found: 'a PIN that does not belong to this person',
    allowed: "the person's own PIN",
    todo: 'Enter the PIN again, or sign in with the secret.',
  });
const pinOff = (): Refusal =>
  refuse('server/pin-off', {
    asked: 'Change of hands',
    found: `${freeTries} wrong PINs in a row`,
    allowed: `fewer than ${freeTries} wrong PINs in a row`,
    todo: 'Sign in with the secret; the PIN works again after that.',
  });
const noTablet = (): Refusal =>
  refuse('server/sign-in-first', {
    asked: 'Change of hands',
    found: 'a tablet on which nobody has signed in during this shift',
    allowed: 'a PIN on a tablet that somebody signed in on with a secret',
    todo: 'Sign in with the secret.',
  });

export function signInRoutes(app: App, parts: Parts): void {
  const { accounts, directory, sessions, secretTries, pinTries, cookie, now } = parts;
  const limited = { rateLimit: { max: parts.signInsPerMinute, timeWindow: 60_000 } };

  const tokenOf = (request: FastifyRequest): string | undefined => request.cookies[cookie.name];
  const give = (reply: FastifyReply, token: string): void =>
    void reply.setCookie(cookie.name, token, {
      httpOnly: true,
      sameSite: 'strict',
      secure: cookie.secure,
      path: '/',
    });
  const note = (
    request: FastifyRequest,
    action: AuditAction,
    person: string,
    way?: SignInWay,
  ): Promise<void> =>
    noteRequest(parts, request, {
      actor: person,
      action,
      subject: person,
      ...(way === undefined ? {} : { way }),
    });
  const refused = async (
    request: FastifyRequest,
    person: string,
    status: number,
    refusal: Refusal,
  ): Promise<never> => {
    request.log.warn(
      {
        code: refusal.code,
        tries: Math.max(await secretTries.count(person), await pinTries.count(person)),
      },
      'sign-in refused',
    );
    // Only ids of the directory are put in the audit: anything else might be a secret in the wrong field.
    await note(request, 'sign-in-refused', directory.person(person) ? person : 'nobody known');
    throw new AnswerError(status, refusal);
  };
  const signedInAs = (person: Person) => ({ person });

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
      const waitMs = await secretTries.begin(request.body.person, nowMs);
      if (waitMs > 0) {
        void reply.header('retry-after', Math.ceil(waitMs / 1000));
        return refused(request, request.body.person, 429, tooMany(waitMs));
      }
      const person = directory.person(request.body.person);
      const right = await accounts.secretIs(request.body.person, request.body.secret);
      if (!right || person === undefined) return refused(request, request.body.person, 401, wrongSecret());
      await secretTries.right(person.id);
      await pinTries.right(person.id);
      await sessions.end(tokenOf(request));
      await note(request, 'signed-in', person.id, 'secret');
      give(reply, await sessions.open(person.id, nowMs));
      return signedInAs(person);
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
      await sessions.end(tokenOf(request));
      await note(request, 'switched', person.id, 'pin');
      give(reply, await sessions.open(person.id, nowMs, held.session.openedMs));
      return signedInAs(person);
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
