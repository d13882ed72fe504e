/** Results on their way to the hospital's record: what waits, what stands in the way, what was put aside. Ids only. */
import { z } from 'zod';
import { instantOfMs, refuse } from '@ebbline/core/quantity';
import { AnswerError, refusalBody } from '../../answers.ts';
import type { App, Parts } from '../../parts.ts';
import { viewers } from '../../rules.ts';

const state = z
  .object({
    open: z.boolean(),
    waiting: z.enum(['nothing', 'some']),
    trouble: z.string().optional(),
    lastSentAt: z.string().optional(),
    aside: z.array(
      z.object({ sequence: z.number().int(), entry: z.string(), words: z.string(), at: z.string() }),
    ),
  })
  .meta({ id: 'ResultsState', description: 'How results get to the hospital’s record.' });

const notAside = (): AnswerError =>
  new AnswerError(
    404,
    refuse('server/not-aside', {
      asked: 'Result',
      found: 'none that was put aside under this number, or no receiver',
      allowed: 'a number of the list of those put aside',
      todo: 'Look at the list again.',
    }),
  );

export function resultsRoutes(app: App, { results }: Parts): void {
  app.route({
    method: 'GET',
    url: '/api/results',
    config: { rule: viewers('operations') },
    schema: { tags: ['operation'], response: { 200: state } },
    handler: async () => {
      if (results === undefined) return { open: false, waiting: 'nothing' as const, aside: [] };
      const { lastSentAtMs, aside, ...now } = await results.state();
      return {
        open: true,
        ...now,
        ...(lastSentAtMs === undefined ? {} : { lastSentAt: instantOfMs(lastSentAtMs) }),
        aside: aside.map(({ sequence, entry, words, atMs }) => ({
          sequence,
          entry,
          words,
          at: instantOfMs(atMs),
        })),
      };
    },
  });

  app.route({
    method: 'POST',
    url: '/api/results/:sequence/resend',
    config: { rule: viewers('operations') },
    schema: {
      tags: ['operation'],
      description: 'Sends one that was put aside again; `arrived` tells whether the receiver took it.',
      params: z.strictObject({ sequence: z.coerce.number().int().min(1) }),
      response: { 200: z.object({ arrived: z.boolean() }), 404: refusalBody },
    },
    handler: async (request) => {
      const { sequence } = request.params;
      const held = (await results?.state())?.aside.some((one) => one.sequence === sequence);
      if (results === undefined || held !== true) throw notAside();
      return { arrived: await results.resend(sequence) };
    },
  });
}
