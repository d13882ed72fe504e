/** Since when a patient who was found over the limit probably was, worked out from the record that the server keeps. */
import { z } from 'zod';
import { instantInZone } from '@ebbline/core/quantity';
import { lookBackAt } from '@ebbline/core/facts';
import { lookBackSentence } from '@ebbline/core/present';
import { refusalBody } from '../../answers.ts';
import type { App, Parts } from '../../parts.ts';
import { ofPatient, viewers } from '../../rules.ts';
import { patientRead } from '../reports/patient-read.ts';

const rangeShape = z.object({ low: z.number(), likely: z.number(), high: z.number() });
const foundShape = z
  .object({
    entry: z.string(),
    at: z.string(),
    volumeMl: z.number(),
    limitMl: z.number(),
    /** Why nothing can be said: then nothing of the rest is there. */
    notValid: z.string().optional(),
    by: z.enum(['reading', 'drained']).optional(),
    stretch: z.object({ from: z.string(), to: z.string(), emptied: z.boolean() }).optional(),
    overShare: z.number().optional(),
    crossing: z.object({ earliestAt: z.string(), likelyAt: z.string(), latestAt: z.string() }).optional(),
    hoursOver: rangeShape.optional(),
    mlHoursOver: rangeShape.optional(),
    unexplainedShare: z.number().optional(),
    courses: z.number().int().optional(),
    sentence: z.string().optional(),
  })
  .meta({
    id: 'FoundOverLimit',
    description:
      'The first known volume over the limit, and since when, for how long (h) and by how much (mL·h) it probably was over: likely is the median, low and high hold nine in ten. For learning, not for deciding.',
  });

export function lookingBackRoutes(app: App, parts: Parts): void {
  app.route({
    method: 'GET',
    url: '/api/reports/over-limit',
    config: { rule: ofPatient(viewers('patient'), 'query') },
    schema: {
      tags: ['reports'],
      description: 'Each time a patient was found over the limit, and since when that probably was so.',
      querystring: z.strictObject({ patient: z.string().min(1).max(120) }),
      response: { 200: z.object({ found: z.array(foundShape) }), 404: refusalBody },
    },
    handler: async (request) => {
      const facts = await patientRead(parts, request, 'over-limit');
      const zone = parts.directory.current().wards.find(({ id }) => id === facts.ward)?.zone ?? 'UTC';
      const at = (ms: number): string => instantInZone(ms, zone);
      return {
        found: facts.lateDetections.map((late) => {
          const base = {
            entry: late.byEntry,
            at: at(late.atMs),
            volumeMl: late.volumeMl,
            limitMl: late.limitMl,
          };
          const back = lookBackAt(late, facts, zone);
          if ('notValid' in back) return { ...base, notValid: back.notValid };
          const { crossing, stretch } = back;
          return {
            ...base,
            by: back.foundBy,
            stretch: { from: at(stretch.fromMs), to: at(stretch.toMs), emptied: stretch.emptied },
            overShare: back.overShare,
            ...(crossing === undefined
              ? {}
              : {
                  crossing: {
                    earliestAt: at(crossing.earliestAtMs),
                    likelyAt: at(crossing.likelyAtMs),
                    latestAt: at(crossing.latestAtMs),
                  },
                }),
            hoursOver: back.hoursOver,
            mlHoursOver: back.mlHoursOver,
            unexplainedShare: back.unexplainedShare,
            courses: back.paths,
            sentence: lookBackSentence(back, facts.nowMs, zone),
          };
        }),
      };
    },
  });
}
