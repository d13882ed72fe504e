/** Ways in beside secret and PIN: passkeys, and a badge for the change of hands. Each person's own, made and taken away by them. */
import type { FastifyRequest } from 'fastify';
import { z } from 'zod';
import { controlIsOn, instantOfMs, isRefusal, refuse, type Refusal } from '@ebbline/core/quantity';
import type { Person } from '@ebbline/core/record';
import { AnswerError, refusalBody, tooMany } from '../../answers.ts';
import { confirmPin } from '../../accounts/confirm-pin.ts';
import {
  algorithms,
  assertionShape,
  challengeLifeMs,
  checkAssertion,
  checkRegistration,
  makeChallenge,
  passkeyCountedBack,
  registrationShape,
  siteOf,
  unknownPasskey,
  type Site,
} from '../../accounts/passkeys.ts';
import { signInSession } from '../../accounts/sign-in-session.ts';
import { freeTries } from '../../accounts/tries.ts';
import { noteRequest } from '../../audit/note-request.ts';
import type { App, Parts } from '../../parts.ts';
import { anybody, signedIn } from '../../rules.ts';
import { personShape } from '../me/me.ts';
import { noTablet, pinOff, wrongPin, wrongSecret } from '../sign-in/sign-in.ts';

/** Passkeys of one person; more are a sign that old ones should go. S-common-practice */
const mostPasskeys = 20;
const badgeText = z
  .string()
  .trim()
  .min(8)
  .max(200)
  .regex(/^[\x20-\x7e]+$/, 'eight or more letters, digits or signs');
const again = z.strictObject({
  pin: z.string().min(1).max(40).optional(),
  secret: z.string().min(1).max(200).optional(),
});

const badgeRefused = (code: string, found: string, todo: string): Refusal =>
  refuse(`server/badge-${code}`, {
    asked: 'Badge',
    found,
    allowed: 'a badge that one person of this unit has set',
    todo,
  });
const notAPerson = (): Refusal =>
  refuse('server/not-a-person', {
    asked: 'Way in',
    found: 'a machine with a token',
    allowed: 'a person',
    todo: 'Sign in as a person.',
  });

export function waysRoutes(app: App, parts: Parts): void {
  const { accounts, directory, sessions, pace, pinTries, wayTries, ways, sealing, now } = parts;
  const limited = { rateLimit: { max: parts.signInsPerMinute, timeWindow: 60_000 } };
  const { tokenOf, open, refused } = signInSession(parts);
  const secret = sealing.voucherSecret;
  const site = (request: FastifyRequest): Site =>
    parts.site ?? siteOf(`${request.protocol}://${request.headers.host ?? 'localhost'}`);
  const personOf = (request: FastifyRequest): Person => {
    if (request.actor?.kind !== 'person') throw new AnswerError(403, notAPerson());
    return request.actor.person;
  };
  /** A tablet that somebody left open makes no new way in: the PIN or the secret is asked for again. */
  const confirm = async (request: FastifyRequest, given: z.infer<typeof again>): Promise<Person> => {
    const person = personOf(request);
    if (given.secret === undefined) {
      await confirmPin(parts, person, given.pin ?? '');
      return person;
    }
    const waitMs = await pace.begin(person.id, request.ip, now());
    if (waitMs > 0) throw new AnswerError(429, tooMany(waitMs));
    if (!(await accounts.secretIs(person.id, given.secret))) throw new AnswerError(422, wrongSecret());
    await pace.right(person.id, request.ip);
    return person;
  };
  const noteWay = (
    request: FastifyRequest,
    action: 'passkey-added' | 'passkey-removed' | 'badge-set' | 'badge-removed',
  ) => noteRequest(parts, request, { action, subject: personOf(request).id });

  app.route({
    method: 'GET',
    url: '/api/me/ways',
    config: { rule: signedIn },
    schema: {
      tags: ['people'],
      description: 'The ways in of whoever asks.',
      response: {
        200: z.object({
          passkeys: z.array(
            z.object({
              id: z.string(),
              name: z.string(),
              madeAt: z.string(),
              lastUsedAt: z.string().optional(),
            }),
          ),
          badgeSince: z.string().optional(),
        }),
        403: refusalBody,
      },
    },
    handler: async (request) => {
      const person = personOf(request);
      const badgeSince = await ways.badgeSince(person.id);
      return {
        passkeys: (await ways.passkeysOf(person.id)).map(({ id, name, madeAt, lastUsedAt }) => ({
          id,
          name,
          madeAt,
          ...(lastUsedAt === undefined ? {} : { lastUsedAt }),
        })),
        ...(badgeSince === undefined ? {} : { badgeSince }),
      };
    },
  });

  app.route({
    method: 'POST',
    url: '/api/me/passkeys/begin',
    config: { rule: signedIn, ...limited },
    schema: {
      tags: ['people'],
      description: 'What a browser needs to make a passkey. The PIN or the secret is asked for again.',
      body: again,
      response: {
        200: z.object({ options: z.record(z.string(), z.unknown()) }),
        403: refusalBody,
        422: refusalBody,
        429: refusalBody,
      },
    },
    handler: async (request) => {
      const person = await confirm(request, request.body);
      const held = await ways.passkeysOf(person.id);
      return {
        options: {
          rp: { id: site(request).place, name: 'Ebbline' },
          // The id of the directory: the device keeps it, and it is no name.
          user: {
            id: Buffer.from(person.id).toString('base64url'),
            name: person.id,
            displayName: person.name,
          },
          challenge: makeChallenge(secret, `register ${person.id}`, now()),
          pubKeyCredParams: algorithms.map((alg) => ({ type: 'public-key', alg })),
          timeout: challengeLifeMs,
          excludeCredentials: held.map(({ id }) => ({ type: 'public-key', id })),
          authenticatorSelection: { residentKey: 'required', userVerification: 'required' },
          attestation: 'none',
        },
      };
    },
  });

  app.route({
    method: 'POST',
    url: '/api/me/passkeys',
    config: { rule: signedIn, ...limited },
    schema: {
      tags: ['people'],
      body: z.strictObject({ name: z.string().trim().min(1).max(60), credential: registrationShape }),
      response: { 200: z.object({ id: z.string() }), 403: refusalBody, 422: refusalBody },
    },
    handler: async (request) => {
      const person = personOf(request);
      const nowMs = now();
      const checked = await checkRegistration(request.body.credential, person.id, {
        site: site(request),
        secret,
        nowMs,
        used: wayTries,
      });
      if (isRefusal(checked)) throw new AnswerError(422, checked);
      const passkey = { ...checked, name: request.body.name, madeAt: instantOfMs(nowMs) };
      const full = (await ways.passkeysOf(person.id)).length >= mostPasskeys;
      if (full || !(await ways.addPasskey(person.id, passkey)))
        throw new AnswerError(
          422,
          refuse('server/passkey-taken', {
            asked: 'Passkey',
            found: full ? `${mostPasskeys} passkeys already` : 'a passkey that is here already',
            allowed: `at most ${mostPasskeys} passkeys of a person, each once`,
            todo: 'Take one away that is not used any more.',
          }),
        );
      await noteWay(request, 'passkey-added');
      return { id: passkey.id };
    },
  });

  app.route({
    method: 'DELETE',
    url: '/api/me/passkeys/:id',
    config: { rule: signedIn },
    schema: {
      tags: ['people'],
      params: z.strictObject({ id: z.string().min(1).max(1_400) }),
      response: { 204: z.null(), 403: refusalBody, 404: refusalBody },
    },
    handler: async (request, reply) => {
      if (!(await ways.removePasskey(personOf(request).id, request.params.id)))
        throw new AnswerError(404, unknownPasskey());
      await noteWay(request, 'passkey-removed');
      return reply.code(204).send(null);
    },
  });

  app.route({
    method: 'POST',
    url: '/api/passkey/begin',
    config: { rule: anybody, ...limited },
    schema: {
      tags: ['people'],
      description: 'What a browser needs to sign somebody in by passkey. It says nothing of who has one.',
      response: { 200: z.object({ options: z.record(z.string(), z.unknown()) }) },
    },
    handler: async (request) => ({
      options: {
        challenge: makeChallenge(secret, 'sign-in', now()),
        rpId: site(request).place,
        timeout: challengeLifeMs,
        userVerification: 'required',
      },
    }),
  });

  app.route({
    method: 'POST',
    url: '/api/passkey/sign-in',
    config: { rule: anybody, ...limited },
    schema: {
      tags: ['people'],
      body: z.strictObject({ credential: assertionShape }),
      response: { 200: z.object({ person: personShape }), 401: refusalBody },
    },
    handler: async (request, reply) => {
      const { credential } = request.body;
      const nowMs = now();
      const held = await ways.passkey(credential.id);
      const person = held && directory.person(held.person);
      if (held === undefined || person === undefined)
        return refused(request, 'nobody', 401, unknownPasskey(), 'passkey');
      const { userHandle } = credential.response;
      if (typeof userHandle === 'string' && Buffer.from(userHandle, 'base64url').toString() !== person.id)
        return refused(request, person.id, 401, unknownPasskey(), 'passkey');
      const counter = await checkAssertion(credential, held.passkey, {
        site: site(request),
        secret,
        nowMs,
        used: wayTries,
      });
      if (isRefusal(counter)) return refused(request, person.id, 401, counter, 'passkey');
      if (!(await ways.usePasskey(person.id, credential.id, counter, instantOfMs(nowMs))))
        return refused(request, person.id, 401, passkeyCountedBack(), 'passkey');
      await pinTries.right(person.id);
      return open(request, reply, person, { action: 'signed-in', way: 'passkey' });
    },
  });

  app.route({
    method: 'PUT',
    url: '/api/me/badge',
    config: { rule: signedIn, ...limited },
    schema: {
      tags: ['people'],
      description:
        'Sets the badge of whoever asks: the text that a reader types. The PIN or the secret is asked for again.',
      body: again.extend({ badge: badgeText }),
      response: {
        200: z.object({ badgeSince: z.string() }),
        403: refusalBody,
        422: refusalBody,
        429: refusalBody,
      },
    },
    handler: async (request) => {
      const { badge, ...given } = request.body;
      const person = await confirm(request, given);
      const at = instantOfMs(now());
      if (!(await ways.setBadge(person.id, badge, at)))
        throw new AnswerError(
          422,
          badgeRefused('taken', 'a badge that somebody else has set', 'Use your own badge.'),
        );
      await noteWay(request, 'badge-set');
      return { badgeSince: at };
    },
  });

  app.route({
    method: 'DELETE',
    url: '/api/me/badge',
    config: { rule: signedIn },
    schema: { tags: ['people'], response: { 204: z.null(), 403: refusalBody } },
    handler: async (request, reply) => {
      if (await ways.removeBadge(personOf(request).id)) await noteWay(request, 'badge-removed');
      return reply.code(204).send(null);
    },
  });

  /** Every ward of the person has to allow it. */
  const badgeAlone = (person: Person): boolean => {
    const wards = directory.current().wards.filter(({ id }) => person.wards.includes(id));
    return wards.length > 0 && wards.every(({ settings }) => settings.badgeAloneOpens === 1);
  };

  app.route({
    method: 'POST',
    url: '/api/badge',
    config: { rule: anybody, ...limited },
    schema: {
      tags: ['people'],
      description:
        'Changes hands on a tablet that somebody signed in on this shift: by badge and PIN, or by badge alone where every ward of the person allows it. `server/badge-needs-pin` asks for the PIN.',
      body: z.strictObject({
        badge: z.string().trim().min(1).max(200),
        pin: z.string().min(1).max(40).optional(),
      }),
      response: { 200: z.object({ person: personShape }), 401: refusalBody, 429: refusalBody },
    },
    handler: async (request, reply) => {
      const nowMs = now();
      const { badge, pin } = request.body;
      const held = await sessions.find(tokenOf(request), nowMs);
      if (held === undefined) return refused(request, 'nobody', 401, noTablet(), 'badge');
      const address = `badge ${request.ip}`;
      const waitMs = await wayTries.begin(address, nowMs);
      if (waitMs > 0) {
        void reply.header('retry-after', Math.ceil(waitMs / 1000));
        return refused(request, 'nobody', 429, tooMany(waitMs), 'badge');
      }
      const whose = await ways.personOfBadge(badge);
      const person = whose === undefined ? undefined : directory.person(whose);
      if (person === undefined)
        return refused(
          request,
          'nobody',
          401,
          badgeRefused(
            'unknown',
            'a badge that nobody here has set',
            'Come in with your PIN, then set your badge.',
          ),
          'badge',
        );
      await wayTries.right(address);
      const alone = badgeAlone(person);
      if (!alone && controlIsOn('H12-badge-pin')) {
        if (pin === undefined)
          throw new AnswerError(401, badgeRefused('needs-pin', 'a badge alone', 'Enter your PIN too.'));
        if (!(await pinTries.beginOf(freeTries, person.id, nowMs)))
          return refused(request, person.id, 401, pinOff(), 'badge-and-pin');
        if (!(await accounts.pinIs(person.id, pin)))
          return refused(request, person.id, 401, wrongPin(), 'badge-and-pin');
        await pinTries.right(person.id);
      }
      return open(request, reply, person, {
        action: 'switched',
        way: alone ? 'badge' : 'badge-and-pin',
        openedMs: held.session.openedMs,
      });
    },
  });
}
