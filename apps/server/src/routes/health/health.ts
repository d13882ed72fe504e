/** For whoever watches the process: does it answer, can it keep entries. */
import { z } from 'zod';
import { refuse } from '@ebbline/core/quantity';
import { AnswerError, refusalBody } from '../../answers.ts';
import type { App, Parts } from '../../parts.ts';
import { anybody } from '../../rules.ts';

export function healthRoutes(app: App, { store, demo }: Parts): void {
  app.route({
    method: 'GET',
    url: '/healthz',
    config: { rule: anybody, rateLimit: false },
    schema: {
      tags: ['operation'],
      response: { 200: z.object({ status: z.literal('answering'), demo: z.boolean() }) },
    },
    handler: async () => ({ status: 'answering' as const, demo: demo !== undefined }),
  });
  app.route({
    method: 'GET',
    url: '/readyz',
    config: { rule: anybody, rateLimit: false },
    schema: {
      tags: ['operation'],
      response: { 200: z.object({ status: z.literal('ready'), head: z.number().int() }), 503: refusalBody },
    },
    handler: async (request) => {
      try {
        return { status: 'ready' as const, head: await store.head() };
      } catch (problem) {
        request.log.error({ err: problem }, 'store does not answer');
        throw new AnswerError(
          503,
          refuse('server/not-ready', {
            asked: 'Readiness',
            found: 'a store that does not answer',
            allowed: 'a store that answers',
            todo: 'Look at the disk and the data folder.',
          }),
        );
      }
    },
  });
}
