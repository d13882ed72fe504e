/**
 * For whoever watches the process: does it answer, can it keep entries, and what else is not as it should be. Says no
 * path, no address and no name; the operations page says more to those who look after the server.
 */
import { z } from 'zod';
import { refuse } from '@ebbline/core/quantity';
import { AnswerError, refusalBody } from '../../answers.ts';
import { checkNames } from '../../operations/checks.ts';
import type { App, Parts } from '../../parts.ts';
import { anybody, viewers } from '../../rules.ts';

export const checkShape = z
  .object({
    name: z.enum(checkNames),
    state: z.enum(['good', 'failed', 'not-used']),
    found: z.string(),
    todo: z.string().optional(),
  })
  .meta({
    id: 'Check',
    description: 'One thing that is looked after: its state, what was found, what to do.',
  });

export function healthRoutes(app: App, { store, demo, health, downtime, now }: Parts): void {
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
      description:
        '200 when entries can be kept, whatever else is wrong: `faults` counts the checks that failed. 503 when not.',
      response: {
        200: z.object({
          status: z.literal('ready'),
          head: z.number().int(),
          faults: z.number().int(),
          checks: z.array(checkShape),
        }),
        503: refusalBody,
      },
    },
    handler: async (request) => {
      const checks = await health.checks(now());
      const failed = checks.filter(({ state }) => state === 'failed');
      const stops = failed.find(({ name }) => name === 'store');
      if (stops === undefined) {
        try {
          return {
            status: 'ready' as const,
            head: await store.head(),
            faults: failed.length,
            checks: [...checks],
          };
        } catch (problem) {
          request.log.error({ err: problem }, 'store does not answer');
        }
      }
      throw new AnswerError(
        503,
        refuse('server/not-ready', {
          asked: 'Readiness',
          found: `a store that keeps nothing; failed: ${failed.map(({ name }) => name).join(', ')}`,
          allowed: 'a store that writes',
          todo: stops?.todo ?? 'Look at the disk and the data folder.',
        }),
      );
    },
  });
  app.route({
    method: 'GET',
    url: '/api/operations',
    config: { rule: viewers('operations') },
    schema: {
      tags: ['operation'],
      description: 'What whoever looks after the server wants to see on one page.',
      response: {
        200: z.object({
          checks: z.array(checkShape),
          downtime: z
            .object({ folder: z.string(), wards: z.number().int(), printedAt: z.string().optional() })
            .optional(),
          node: z.string(),
        }),
      },
    },
    handler: async () => {
      const status = downtime?.status();
      return {
        checks: [...(await health.checks(now()))],
        ...(status === undefined
          ? {}
          : {
              downtime: {
                folder: status.folder,
                wards: status.wards,
                ...(status.printedAtMs === undefined
                  ? {}
                  : { printedAt: new Date(status.printedAtMs).toISOString() }),
              },
            }),
        node: process.version,
      };
    },
  });
}
