/** The audit, row by row, for those who answer for privacy. */
import { z } from 'zod';
import type { App, Parts } from '../../parts.ts';
import { viewers } from '../../rules.ts';

const row = z.object({
  sequence: z.number().int(),
  at: z.string(),
  actor: z.string(),
  action: z.string(),
  subject: z.string(),
  patient: z.string().optional(),
  contentDigest: z.string().optional(),
  chain: z.string(),
});

export function auditRoutes(app: App, { store }: Parts): void {
  app.route({
    method: 'GET',
    url: '/api/audit',
    config: { rule: viewers('audit') },
    schema: {
      tags: ['audit'],
      querystring: z.strictObject({
        after: z.coerce.number().int().min(0).default(0),
        limit: z.coerce.number().int().min(1).max(2000).default(500),
      }),
      response: { 200: z.object({ rows: z.array(row) }) },
    },
    handler: async (request) => ({
      rows: [...(await store.auditAfter(request.query.after, request.query.limit))],
    }),
  });
}
