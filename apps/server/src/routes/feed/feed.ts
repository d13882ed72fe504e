/** What came in by the hospital's patient feed, in words that hold nothing of it; for whoever looks after the server. */
import { z } from 'zod';
import type { App, Parts } from '../../parts.ts';
import { viewers } from '../../rules.ts';

const outcome = z
  .object({
    number: z.number().int(),
    receivedAt: z.string(),
    state: z.enum(['used', 'refused']),
    type: z.string(),
    words: z.string(),
    code: z.string().optional(),
  })
  .meta({ id: 'FeedOutcome', description: 'What became of one message of the patient feed.' });

export function feedRoutes(app: App, { feed }: Parts): void {
  app.route({
    method: 'GET',
    url: '/api/feed/messages',
    config: { rule: viewers('operations') },
    schema: {
      tags: ['operation'],
      description:
        'Messages of the patient feed in order of arrival, and what became of each. Empty without a feed.',
      querystring: z.strictObject({
        after: z.coerce.number().int().min(0).default(0),
        limit: z.coerce.number().int().min(1).max(500).default(100),
        /** The newest so many, in place of `after` and `limit`. */
        last: z.coerce.number().int().min(1).max(500).optional(),
      }),
      response: { 200: z.object({ open: z.boolean(), head: z.number().int(), messages: z.array(outcome) }) },
    },
    handler: async (request) => {
      if (feed === undefined) return { open: false, head: 0, messages: [] };
      const head = await feed.head();
      const { last } = request.query;
      const { after, limit } =
        last === undefined ? request.query : { after: Math.max(0, head - last), limit: last };
      return { open: true, head, messages: [...(await feed.outcomes(after, limit))] };
    },
  });
}
