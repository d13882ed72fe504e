/**
 * How often the estimate was right on a ward, and the unit's signature that lets its forecast use a row's range. The
 * figure is worked out here, from the record that the server keeps: nothing that a tablet sends is taken for it.
 */
import { z } from 'zod';
import { instantOfMs, refuse } from '@ebbline/core/quantity';
import type { HitRate } from '@ebbline/core/facts';
import {
  lengtheningRefusal,
  lengtheningSigners,
  mayLengthenAt,
  type Directory,
  type Lengthening,
  type Signature,
  type Ward,
} from '@ebbline/core/record';
import { AnswerError, refusalBody, refusalShape } from '../../answers.ts';
import { lengtheningShape } from '../../directory-book.ts';
import type { App, Parts } from '../../parts.ts';
import { ofWard, viewers, type Actor } from '../../rules.ts';
import { unknownWard } from '../reports/unknown.ts';

const word = z.string().min(1).max(120);
const rateShape = z
  .object({
    within: z.number().int(),
    of: z.number().int(),
    percent: z.object({ share: z.number(), low: z.number(), high: z.number() }).optional(),
  })
  .meta({
    id: 'HitRate',
    description: 'Pairs within the 90 % range, of all; share with exact 95 % interval.',
  });
const standingShape = z.object({
  on: z.boolean(),
  lengthening: lengtheningShape.optional(),
  /** Why it can't be signed now. */
  refusal: refusalShape.optional(),
});

function standingOf(ward: Ward, rate: HitRate, nowMs: number): z.input<typeof standingShape> {
  const { lengthening } = ward.settings;
  const refusal = lengtheningRefusal(rate, ward.settings);
  return {
    on: mayLengthenAt(ward.settings, nowMs),
    ...(lengthening === undefined ? {} : { lengthening }),
    ...(refusal === undefined ? {} : { refusal }),
  };
}

const withLengthening = (directory: Directory, id: string, lengthening: Lengthening): Directory => ({
  ...directory,
  wards: directory.wards.map((ward) =>
    ward.id === id ? { ...ward, settings: { ...ward.settings, lengthening } } : ward,
  ),
});

export function lengtheningRoutes(app: App, { view, directory, store, now }: Parts): void {
  const wardOf = (id: string): Ward => {
    const ward = directory.current().wards.find((one) => one.id === id);
    if (ward === undefined) throw new AnswerError(404, unknownWard());
    return ward;
  };
  const signatureOf = (actor: Actor | undefined, nowMs: number): Signature => {
    if (actor?.kind !== 'person') throw new AnswerError(403, notAPerson());
    const { id, name, role } = actor.person;
    return { person: id, name, role, at: instantOfMs(nowMs) };
  };

  app.route({
    method: 'GET',
    url: '/api/reports/hit-rate',
    config: { rule: ofWard(viewers('board', 'unit'), 'query') },
    schema: {
      tags: ['reports'],
      description:
        'How often the estimate’s 90 % ranges held what was measured: on a ward, and on all. No patient stands in it.',
      querystring: z.strictObject({ ward: word }),
      response: {
        200: z.object({ ward: rateShape, everywhere: rateShape, lengthening: standingShape }),
        404: refusalBody,
      },
    },
    handler: async (request) => {
      const ward = wardOf(request.query.ward);
      const rates = await view.hitRates(ward.id);
      return { ...rates, lengthening: standingOf(ward, rates.ward, now()) };
    },
  });

  app.route({
    method: 'POST',
    url: '/api/wards/:ward/lengthening',
    // Taking back is open to all who see the unit page; who may sign is asked below.
    config: { rule: ofWard(viewers('unit'), 'params') },
    schema: {
      tags: ['settings'],
      description:
        'Signs that the forecast may use the range of a row on this ward, or takes the signature back. Refused while the ward’s hit rate does not bear it.',
      params: z.strictObject({ ward: word }),
      body: z.strictObject({ may: z.boolean() }),
      response: { 200: standingShape, 403: refusalBody, 404: refusalBody, 422: refusalBody },
    },
    handler: async (request) => {
      const nowMs = now();
      const signature = signatureOf(request.actor, nowMs);
      const { ward: rate } = await view.hitRates(wardOf(request.params.ward).id);
      const ward = wardOf(request.params.ward);
      const held = ward.settings.lengthening;
      let next: Lengthening;
      if (request.body.may) {
        if (!lengtheningSigners.includes(signature.role))
          throw new AnswerError(403, notASigner(signature.role));
        const refusal = lengtheningRefusal(rate, ward.settings);
        if (refusal) throw new AnswerError(422, refusal);
        next = { signed: signature, within: rate.within, pairs: rate.of };
      } else {
        if (held === undefined || held.revoked !== undefined) throw new AnswerError(422, nothingSigned());
        next = { ...held, revoked: signature };
      }
      await directory.replace(withLengthening(directory.current(), ward.id, next));
      await store.note({
        at: instantOfMs(nowMs),
        actor: signature.person,
        action: request.body.may ? 'lengthening-signed' : 'lengthening-taken-back',
        subject: `${ward.id} ${next.within} of ${next.pairs}`,
      });
      return standingOf(wardOf(ward.id), rate, nowMs);
    },
  });
}

const notASigner = (role: string) =>
  refuse('server/not-for-this-role', {
    asked: 'Signature',
    found: `the role ${role}`,
    allowed: lengtheningSigners.join(', '),
    todo: 'Ask a specialist nurse of the unit. Taking a signature back is open to you.',
  });

const notAPerson = () =>
  refuse('server/not-a-person', {
    asked: 'Signature',
    found: 'a machine with a token',
    allowed: 'a signed-in person',
    todo: 'Sign in as yourself.',
  });

const nothingSigned = () =>
  refuse('server/nothing-signed', {
    asked: 'Taking a signature back',
    found: 'no signature that stands on this ward',
    allowed: 'a ward on which somebody has signed',
    todo: 'Nothing is left to do: the forecast lengthens no interval here.',
  });
