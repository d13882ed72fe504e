/** What tablets keep sealed: the key to their copy and their vouchers out, sealed entries of anybody in, held ones settled. */
import { z } from 'zod';
import { hourMs, instantOfMs, refuse } from '@ebbline/core/quantity';
import { defaultSettings, mayView, type Person } from '@ebbline/core/record';
import { issueVoucher } from '@ebbline/store/sealed';
import { actorOf } from '../../accounts/actor.ts';
import { AnswerError, refusalBody, refusalShape } from '../../answers.ts';
import type { App, Parts } from '../../parts.ts';
import { anybody, keptByHandler, signedIn, viewers, type Actor } from '../../rules.ts';
import type { HeldEntry } from '../../sealing/held-book.ts';
import { heldContent, keepAs, takeSealed, tryHeldAgain } from '../../sealing/take-sealed.ts';

/** Most boxes of one request. */
const batchLimit = 100;
const word = z.string().min(1).max(120);
const base64url = z.string().regex(/^[A-Za-z0-9_-]*$/);
const sealedShape = z.strictObject({
  id: z.uuid(),
  key: base64url.min(1).max(64),
  box: base64url.max(200_000),
});

/** What of the record somebody may read: the copy on a tablet opens for those who may read the same. */
const scopeOf = (person: Person): string =>
  JSON.stringify([
    mayView(person.role, 'board') || mayView(person.role, 'patient'),
    [...person.wards].sort(),
  ]);

const noPerson = () =>
  refuse('server/person-only', {
    asked: 'Key to a tablet',
    found: 'a machine',
    allowed: 'a signed-in person',
    todo: 'Sign in as a person.',
  });
const notHeld = () =>
  refuse('server/not-held', {
    asked: 'Held entry',
    found: 'none under this id that waits for you',
    allowed: 'an entry of the list',
    todo: 'Read the list again.',
  });

export function sealedRoutes(app: App, parts: Parts): void {
  const { store, directory, held, sealing, now } = parts;

  /** A voucher holds for what is written down within twice the hours for which the tablet opens without the network. */
  const untilMs = (person: Person): number => {
    const hours = directory
      .current()
      .wards.filter(({ id }) => person.wards.includes(id))
      .map(({ settings }) => settings.offlineForH);
    const longest = hours.length === 0 ? defaultSettings.offlineForH : Math.max(...hours);
    return now() + 2 * Math.max(longest, 1) * hourMs;
  };

  app.route({
    method: 'POST',
    url: '/api/tablet-key',
    config: { rule: signedIn },
    schema: {
      tags: ['people'],
      description:
        "For the copy on a tablet: the server's part of its key, the public key for unsent entries, and a voucher under which the signed-in person's entries may be carried by anybody.",
      body: z.strictObject({ copy: word }),
      response: {
        200: z.object({
          part: z.string(),
          server: z.object({ id: z.string(), publicKey: z.string() }),
          voucher: z.object({ text: z.string(), key: z.string() }),
        }),
        401: refusalBody,
        403: refusalBody,
      },
    },
    handler: async (request) => {
      const actor = request.actor as Actor;
      if (actor.kind !== 'person') throw new AnswerError(403, noPerson());
      const { person } = actor;
      const { id, role, wards } = person;
      const issued = { person: id, role, wards, issuedMs: now(), untilMs: untilMs(person) };
      return {
        part: await sealing.copyPart(request.body.copy, scopeOf(person)),
        server: { id: sealing.id, publicKey: sealing.publicKey },
        voucher: await issueVoucher(sealing.voucherSecret, issued),
      };
    },
  });

  app.route({
    method: 'POST',
    url: '/api/sealed',
    // A box proves by itself whose it is; a tablet that is locked, or on which nobody is signed in, may carry too.
    config: { rule: keptByHandler(anybody), rateLimit: { max: parts.signInsPerMinute, timeWindow: 60_000 } },
    schema: {
      tags: ['record'],
      description:
        'Sealed entries of anybody, carried by anybody. Kept under their author when their voucher holds, else held for a person; refused ones stay where they are. Sending again is safe.',
      body: z.strictObject({ entries: z.array(sealedShape).min(1).max(batchLimit) }),
      response: {
        200: z.object({
          kept: z.array(z.string()),
          held: z.array(z.string()),
          refused: z.array(z.object({ id: z.string(), refusal: refusalShape })),
        }),
        400: refusalBody,
        429: refusalBody,
      },
    },
    handler: async (request) => {
      const carrier = await actorOf(parts, request);
      const report = await takeSealed(parts, request.body.entries, carrier?.id);
      if (report.kept.length > 0) await tryHeldAgain(parts);
      const { kept, held: waits, refused } = report;
      if (waits.length + refused.length > 0)
        request.log.warn({ held: waits.length, refused: refused.length }, 'carried entries not kept');
      return { kept: [...kept], held: [...waits], refused: [...refused] };
    },
  });

  /** Those that wait for this person: their own; what cannot be opened names nobody, and waits for who runs the server. */
  const own = (actor: Actor): readonly HeldEntry[] =>
    held
      .all()
      .filter(({ author }) =>
        author === undefined ? mayView(actor.role, 'operations') : author === actor.id,
      );

  app.route({
    method: 'GET',
    url: '/api/held',
    config: { rule: viewers('patient', 'operations') },
    schema: {
      tags: ['record'],
      description:
        'Carried entries that the record did not take: those of the signed-in person with their content, of others the count.',
      response: {
        200: z.object({
          entries: z.array(
            z.object({ id: z.string(), entry: z.unknown(), vouched: z.boolean(), refusal: refusalShape }),
          ),
          others: z.number().int(),
        }),
        401: refusalBody,
        403: refusalBody,
      },
    },
    handler: async (request) => {
      await tryHeldAgain(parts);
      const mine = own(request.actor as Actor);
      return {
        entries: await Promise.all(
          mine.map(async (one) => ({
            id: one.sealed.id,
            entry: await heldContent(parts, one),
            vouched: one.vouched,
            refusal: one.refusal,
          })),
        ),
        others: held.all().length - mine.length,
      };
    },
  });

  app.route({
    method: 'POST',
    url: '/api/held/:id',
    config: { rule: viewers('patient', 'operations') },
    schema: {
      tags: ['record'],
      description:
        'The author says that a held entry is theirs (it is then asked as any entry), or that it may go. What cannot be opened names no author: who runs the server lets it go.',
      params: z.strictObject({ id: word }),
      body: z.strictObject({ decided: z.enum(['mine', 'dismissed']) }),
      response: { 200: z.object({ settled: z.literal(true) }), 404: refusalBody, 422: refusalBody },
    },
    handler: async (request) => {
      const actor = request.actor as Actor;
      const found = own(actor).find(({ sealed }) => sealed.id === request.params.id);
      if (found === undefined) throw new AnswerError(404, notHeld());
      if (request.body.decided === 'mine') {
        const answers = await keepAs(parts, actor, [await heldContent(parts, found)], actor.id);
        const refusal = answers.has(found.sealed.id) ? answers.get(found.sealed.id) : found.refusal;
        if (refusal !== undefined) throw new AnswerError(422, refusal);
      }
      await held.remove(found.sealed.id);
      await store.note({
        at: instantOfMs(now()),
        actor: actor.id,
        action: 'held-settled',
        subject: found.sealed.id,
      });
      return { settled: true as const };
    },
  });
}
