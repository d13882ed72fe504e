/** What another reading would bring, while a patient's last one leaves its side of the limit open. */
import { z } from 'zod';
import { openReading } from '@ebbline/core/facts';
import { anotherReadingSentence } from '@ebbline/core/present';
import { refusalBody } from '../../answers.ts';
import type { App, Parts } from '../../parts.ts';
import { ofPatient, viewers } from '../../rules.ts';
import { patientRead } from '../reports/patient-read.ts';

const bringsShape = z
  .object({
    changesProbability: z.number(),
    settlesProbability: z.number(),
    wrongSideBefore: z.number(),
    wrongSideAfter: z.number(),
  })
  .meta({
    id: 'ReadAgain',
    description:
      'Once both readings are averaged: that the side of the limit changes, that it is no toss-up any more, and the chance of the wrong side before and after.',
  });

export function anotherReadingRoutes(app: App, parts: Parts): void {
  app.route({
    method: 'GET',
    url: '/api/reports/another-reading',
    config: { rule: ofPatient(viewers('patient'), 'query') },
    schema: {
      tags: ['reports'],
      description:
        'What another reading would bring, by the same person or by somebody else. `open` is false when the last reading is no toss-up, was repeated, is stale, or something left the bladder since.',
      querystring: z.strictObject({ patient: z.string().min(1).max(120) }),
      response: {
        200: z.object({
          open: z.boolean(),
          entry: z.string().optional(),
          volumeMl: z.number().optional(),
          standardDeviationMl: z.number().optional(),
          limitMl: z.number().optional(),
          otherSideProbability: z.number().optional(),
          same: bringsShape.optional(),
          other: bringsShape.optional(),
          sentence: z.string().optional(),
        }),
        404: refusalBody,
      },
    },
    handler: async (request) => {
      const facts = await patientRead(parts, request, 'another-reading');
      const open = openReading(facts);
      if (open === undefined) return { open: false };
      const { entryId, volumeMl, standardDeviationMl, lineMl, otherSideProbability, same, other } = open;
      return {
        open: true,
        entry: entryId,
        volumeMl,
        standardDeviationMl,
        limitMl: lineMl,
        otherSideProbability,
        same,
        other,
        sentence: anotherReadingSentence(open),
      };
    },
  });
}
