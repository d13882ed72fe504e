/** People, wards and scanners: read by everybody who is signed in, replaced by the administrator. */
import { z } from 'zod';
import { instantOfMs, refuse } from '@ebbline/core/quantity';
import type { Directory } from '@ebbline/core/record';
import { AnswerError, refusalBody } from '../../answers.ts';
import { directoryShape } from '../../directory-book.ts';
import type { App, Parts } from '../../parts.ts';
import { signedIn, viewers } from '../../rules.ts';

/** Signatures are given and taken back by themselves (routes/lengthening); a new directory neither makes nor ends one. */
function withSignaturesAsTheyAre(next: Directory, held: Directory): Directory {
  return {
    ...next,
    wards: next.wards.map((ward) => {
      const { lengthening: _given, ...numbers } = ward.settings;
      const lengthening = held.wards.find((one) => one.id === ward.id)?.settings.lengthening;
      return { ...ward, settings: { ...numbers, ...(lengthening === undefined ? {} : { lengthening }) } };
    }),
  };
}

export function directoryRoutes(app: App, { directory, store, now, accounts, ways }: Parts): void {
  app.route({
    method: 'GET',
    url: '/api/directory',
    config: { rule: signedIn },
    schema: { tags: ['people'], response: { 200: directoryShape.meta({ id: 'Directory' }) } },
    handler: async () => directory.current() as z.output<typeof directoryShape>,
  });

  app.route({
    method: 'PUT',
    url: '/api/directory',
    config: { rule: viewers('people') },
    schema: {
      tags: ['people'],
      body: directoryShape,
      response: { 200: z.object({ replaced: z.literal(true) }), 422: refusalBody },
    },
    handler: async (request) => {
      const next: Directory = request.body;
      if (next.organisation !== store.organisation) {
        throw new AnswerError(
          422,
          refuse('server/other-organisation', {
            asked: 'Directory',
            found: 'another organisation',
            allowed: 'the organisation that the record is kept for',
            todo: 'Keep the organisation as it is; a new one starts with a new data folder.',
            where: 'organisation',
          }),
        );
      }
      const own = request.actor?.id;
      if (!next.people.some((person) => person.id === own && person.role === 'administrator')) {
        throw new AnswerError(
          422,
          refuse('server/no-administrator', {
            asked: 'Directory',
            found: 'no place for you as administrator',
            allowed: 'a directory in which you stay administrator',
            todo: 'Keep your own row; another administrator can take it away.',
            where: 'people',
          }),
        );
      }
      await directory.replace(withSignaturesAsTheyAre(next, directory.current()));
      await store.note({
        at: instantOfMs(now()),
        actor: own ?? '',
        action: 'directory-changed',
        subject: 'directory',
      });
      return { replaced: true as const };
    },
  });

  app.route({
    method: 'POST',
    url: '/api/accounts',
    config: { rule: viewers('people') },
    schema: {
      tags: ['people'],
      description:
        'Sets the secret, and the PIN if given, of a person of the directory. Passkeys and badge of that person are taken away.',
      body: z.strictObject({
        person: z.string().min(1).max(120),
        secret: z.string().min(8).max(200),
        pin: z
          .string()
          .regex(/^\d{4,12}$/)
          .optional(),
      }),
      response: { 200: z.object({ set: z.literal(true) }), 422: refusalBody },
    },
    handler: async (request) => {
      const { person, secret, pin } = request.body;
      if (!directory.person(person)) {
        throw new AnswerError(
          422,
          refuse('server/unknown-person', {
            asked: 'Account',
            found: 'a person who is not in the directory',
            allowed: 'people of the directory',
            todo: 'Add the person to the directory first.',
            where: 'person',
          }),
        );
      }
      await accounts.set(person, secret, pin);
      // Whoever had the other ways in may be why the secret is set anew.
      await ways.clear(person);
      await store.note({
        at: instantOfMs(now()),
        actor: request.actor?.id ?? '',
        action: 'account-changed',
        subject: person,
      });
      return { set: true as const };
    },
  });
}
