/** What a ward did not know for a while: what came in late, became due or went over, and what was decided without it. */
import { z } from 'zod';
import {
  anythingMeanwhile,
  foldPatient,
  knownAt,
  longestMeanwhileMs,
  meanwhileOf,
  type PatientFacts,
} from '@ebbline/core/facts';
import { dayMs, instantInZone, instantMs, isRefusal, readInstant, refuse } from '@ebbline/core/quantity';
import { meanwhileLines, meanwhileSummary } from '@ebbline/core/present';
import type { Ward } from '@ebbline/core/record';
import { AnswerError, refusalBody } from '../../answers.ts';
import { lastOutage } from '../../operations/outage.ts';
import { noteRequest } from '../../audit/note-request.ts';
import type { App, Parts } from '../../parts.ts';
import { ofWard, viewers } from '../../rules.ts';
import { unknownWard } from '../reports/unknown.ts';

const said = z.object({ entry: z.string(), sentence: z.string() });
const patientShape = z
  .object({
    patient: z.string(),
    bed: z.string(),
    initials: z.string(),
    summary: z.string(),
    lines: z.array(
      z.object({
        kind: z.enum(['came-late', 'due', 'missed', 'over', 'expected-over']),
        at: z.string(),
        sentence: z.string(),
        entry: z.string().optional(),
        withoutIt: z.array(said),
      }),
    ),
  })
  .meta({
    id: 'MeanwhileOfPatient',
    description:
      'What came in late, became due or went over in the hours, and the decisions that the record could not have told it to.',
  });
const spanShape = z.object({ from: z.string(), to: z.string() });

/** Without a beginning the last outage counts, when it ended within a day; else the last eight hours. S-common-practice */
const usualMs = 8 * 60 * 60_000;

const wrongFrom = () =>
  refuse('server/not-as-described', {
    asked: 'Beginning of the hours',
    found: 'no instant, or one that lies too far back or ahead',
    allowed: 'an instant with its offset, at most 7 days back',
    todo: 'Give another beginning.',
    where: 'querystring/from',
  });

export function meanwhileRoutes(app: App, parts: Parts): void {
  const { store, view, directory, now } = parts;
  const kept = async (facts: PatientFacts, ward: Ward, fromMs: number, nowMs: number) => {
    const own = await store.ofPatient(facts.patient);
    const known = knownAt(own, fromMs);
    const { zone, settings } = ward;
    const before =
      known.length === 0
        ? undefined
        : foldPatient({ patient: facts.patient, entries: known, nowMs: fromMs, settings, zone });
    return meanwhileOf({ kept: own, facts, before, fromMs, toMs: nowMs });
  };
  /** Nobody's hours are worked out whose record rests: not watched, and nothing written since a day before. */
  const mayHaveChanged = (facts: PatientFacts, fromMs: number): boolean =>
    facts.watch.state === 'open' ||
    facts.watch.state === 'paused' ||
    facts.due.length > 0 ||
    facts.timeline.some(({ entry }) => instantMs(entry.recordedAt) >= fromMs - dayMs);

  app.route({
    method: 'GET',
    url: '/api/reports/meanwhile',
    config: { rule: ofWard(viewers('board'), 'query') },
    schema: {
      tags: ['reports'],
      description:
        'For a ward, since an instant: patients with something to tell, the most first. Without `from`: since the last outage, or eight hours.',
      querystring: z.strictObject({ ward: z.string().min(1).max(120), from: z.string().max(40).optional() }),
      response: {
        200: z.object({
          from: z.string(),
          to: z.string(),
          outage: spanShape.optional(),
          patients: z.array(patientShape),
        }),
        400: refusalBody,
        404: refusalBody,
      },
    },
    handler: async (request) => {
      const nowMs = now();
      const ward = directory.current().wards.find(({ id }) => id === request.query.ward);
      const everybody = await view.everybodyOn(request.query.ward, nowMs);
      if (ward === undefined || everybody === undefined) throw new AnswerError(404, unknownWard());
      const outage = await lastOutage(store);
      const read = request.query.from === undefined ? undefined : readInstant(request.query.from);
      if (isRefusal(read)) throw new AnswerError(400, wrongFrom());
      const recent = outage && nowMs - outage.toMs < dayMs ? outage.fromMs : nowMs - usualMs;
      const fromMs = read ?? recent;
      if (fromMs > nowMs || nowMs - fromMs > longestMeanwhileMs) throw new AnswerError(400, wrongFrom());
      const at = (ms: number): string => instantInZone(ms, ward.zone);
      const patients: z.output<typeof patientShape>[] = [];
      for (const facts of everybody) {
        if (!mayHaveChanged(facts, fromMs)) continue;
        const found = await kept(facts, ward, fromMs, nowMs);
        if (!anythingMeanwhile(found)) continue;
        const lines = meanwhileLines(found, facts, ward.zone, directory.current());
        patients.push({
          patient: facts.patient,
          bed: facts.bed,
          initials: facts.initials,
          summary: meanwhileSummary(lines),
          lines: lines.map(({ atMs, withoutIt, ...line }) => ({
            ...line,
            at: at(atMs),
            withoutIt: [...withoutIt],
          })),
        });
      }
      await noteRequest(parts, request, { action: 'read', subject: 'meanwhile', ward: ward.id });
      const weight = (one: (typeof patients)[number]): number =>
        one.lines.reduce(
          (sum, line) => sum + 10 * line.withoutIt.length + (line.kind === 'came-late' ? 2 : 1),
          0,
        );
      return {
        from: at(fromMs),
        to: at(nowMs),
        ...(outage === undefined ? {} : { outage: { from: at(outage.fromMs), to: at(outage.toMs) } }),
        patients: patients.toSorted((a, b) => weight(b) - weight(a) || (a.bed < b.bed ? -1 : 1)),
      };
    },
  });
}
