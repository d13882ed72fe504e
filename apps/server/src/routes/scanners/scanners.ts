/** What pairs of reading and drained volume have taught of each scanner. No patient stands in it. */
import { z } from 'zod';
import { deviceSentence, scannerName } from '@ebbline/core/present';
import { AnswerError, refusalBody } from '../../answers.ts';
import type { App, Parts } from '../../parts.ts';
import { ofWard, viewers } from '../../rules.ts';
import { unknownWard } from '../reports/unknown.ts';

const rangeShape = z.object({ low: z.number(), likely: z.number(), high: z.number() });

export function scannerRoutes(app: App, { view, directory }: Parts): void {
  app.route({
    method: 'GET',
    url: '/api/reports/scanners',
    config: { rule: ofWard(viewers('unit'), 'query') },
    schema: {
      tags: ['reports'],
      description:
        'Lasting error and scatter of each scanner with a pair, as shares of what was held (−0.08 is 8 % low), with 90 % intervals, shrunk to what is believed of any scanner. The ward gives the limit at which it is said in mL.',
      querystring: z.strictObject({ ward: z.string().min(1).max(120) }),
      response: {
        200: z.object({
          scanners: z.array(
            z.object({
              scanner: z.string(),
              name: z.string(),
              pairs: z.number().int(),
              bias: rangeShape,
              spread: rangeShape,
              reads: z.enum(['low', 'high', 'as-drained']),
              sentence: z.string(),
            }),
          ),
        }),
        404: refusalBody,
      },
    },
    handler: async (request) => {
      const now = directory.current();
      const ward = now.wards.find(({ id }) => id === request.query.ward);
      if (ward === undefined) throw new AnswerError(404, unknownWard());
      const devices = await view.devices();
      return {
        scanners: [...devices.values()].map((device) => ({
          scanner: device.scanner,
          name: scannerName(device.scanner, now),
          pairs: device.pairs.length,
          bias: { ...device.bias },
          spread: { ...device.spread },
          reads: device.reads,
          sentence: deviceSentence(device, ward.settings.unitLimitMl, now),
        })),
      };
    },
  });
}
