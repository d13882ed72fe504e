/** What would be asked before entries are saved. It keeps nothing, and the route that keeps entries never refuses for it. */
import { z } from 'zod';
import { questionsOnAdding } from '@ebbline/core/facts';
import { instantInZone } from '@ebbline/core/quantity';
import type { Entry } from '@ebbline/core/record';
import { refusalBody, refusalShape } from '../../answers.ts';
import { noteRequest } from '../../audit/note-request.ts';
import type { App, Parts } from '../../parts.ts';
import { keptByHandler, viewers, type Actor } from '../../rules.ts';
import { openings } from '../entries/opening.ts';
import { checkIntake } from '../entries/check-intake.ts';

/** Asked of what somebody is about to save, not of a backlog. */
const batchLimit = 20;

const questionShape = z
  .object({
    entry: z.string(),
    patient: z.string(),
    because: z.enum(['mass-balance', 'clock', 'charted-again', 'slip']),
    sum: z.string(),
    check: z.string(),
    /** The stretch of time whose entries stand behind it. */
    from: z.string(),
    to: z.string(),
  })
  .meta({
    id: 'QuestionBeforeSave',
    description:
      'A sum that fails with the new entry, and what to check. It names no other number; the entry may be kept as it stands.',
  });

export function questionRoutes(app: App, parts: Parts): void {
  const { store, directory, view, reaches, now } = parts;
  app.route({
    method: 'POST',
    url: '/api/question',
    config: { rule: keptByHandler(viewers('patient')) },
    schema: {
      tags: ['record'],
      description:
        'What would be asked before these entries are saved, each beside those before it. Advice: nothing is kept, and nothing is refused for it later.',
      body: z.strictObject({ entries: z.array(z.unknown()).min(1).max(batchLimit) }),
      response: {
        200: z.object({
          questions: z.array(questionShape),
          refused: z.array(z.object({ id: z.string().optional(), refusal: refusalShape })),
        }),
        400: refusalBody,
        401: refusalBody,
        403: refusalBody,
      },
    },
    handler: async (request) => {
      const nowMs = now();
      const actor = request.actor as Actor;
      const { accepted, refused } = await checkIntake(request.body.entries, {
        actor,
        nowMs,
        organisation: store.organisation,
        knowsPatient: (patient) => store.knowsPatient(patient),
        knowsPerson: (person) => directory.person(person) !== undefined,
        entryById: async (id) => (await store.byId(id))?.entry,
        openingRefusal: openings(store, directory, actor, nowMs),
        records: (entry, patient) => reaches.records(actor, entry, patient, nowMs),
      });
      const questions: z.infer<typeof questionShape>[] = [];
      const groups = Map.groupBy(accepted, (entry: Entry) => entry.patient);
      for (const [patient, added] of groups) {
        const facts = await view.patientFacts(patient, nowMs);
        if (facts === undefined) continue;
        await noteRequest(parts, request, { action: 'read', subject: 'question', patient });
        const zone = directory.current().wards.find((ward) => ward.id === facts.ward)?.zone ?? 'UTC';
        for (const { entryId, question } of questionsOnAdding(facts, added, zone))
          questions.push({
            entry: entryId,
            patient,
            because: question.because,
            sum: question.sum,
            check: question.check,
            from: instantInZone(question.fromMs, zone),
            to: instantInZone(question.toMs, zone),
          });
      }
      return { questions, refused: [...refused] };
    },
  });
}
