/** Entries in, and entries out by cursor. */
import { z } from 'zod';
import { instantOfMs } from '@ebbline/core/quantity';
import { isPractice, practiceRecordOf, type KeptEntry, type Person } from '@ebbline/core/record';
import { refusalBody, refusalShape } from '../../answers.ts';
import type { App, Parts } from '../../parts.ts';
import { keptByHandler, signedIn, viewers, type Actor } from '../../rules.ts';
import { openings } from './opening.ts';
import { checkIntake } from './check-intake.ts';
import { keptReads } from './kept-reads.ts';

/** Most entries of one request; a tablet that was away for a shift sends several. */
const batchLimit = 500;
const pageLimit = 2_000;

const keptEntryShape = z.object({
  entry: z.custom<KeptEntry['entry']>(),
  receivedAt: z.string(),
  sequence: z.number().int(),
});

export function entriesRoutes(app: App, parts: Parts): void {
  const { store, directory, reaches, now } = parts;

  app.route({
    method: 'POST',
    url: '/api/entries',
    // Which kinds a role may write is asked entry by entry.
    config: { rule: keptByHandler(signedIn) },
    schema: {
      tags: ['record'],
      description:
        'Each entry is kept whole or not at all, and reported by itself. Sending an entry again is safe.',
      body: z.strictObject({ entries: z.array(z.unknown()).min(1).max(batchLimit) }),
      response: {
        200: z.object({
          kept: z.array(
            z.object({
              id: z.string(),
              sequence: z.number().int(),
              receivedAt: z.string(),
              known: z.boolean(),
            }),
          ),
          refused: z.array(z.object({ id: z.string().optional(), refusal: refusalShape })),
        }),
        400: refusalBody,
        401: refusalBody,
      },
    },
    handler: async (request) => {
      const actor = request.actor as Actor;
      const nowMs = now();
      const intake = await checkIntake(request.body.entries, {
        actor,
        nowMs,
        organisation: store.organisation,
        knowsPatient: (patient) => store.knowsPatient(patient),
        knowsPerson: (person) => directory.person(person) !== undefined,
        entryById: async (id) => (await store.byId(id))?.entry,
        openingRefusal: openings(store, directory, actor, nowMs),
        records: (entry, patient) => reaches.records(actor, entry, patient, nowMs),
      });
      const result = await store.append(intake.accepted, { receivedAt: instantOfMs(nowMs), actor: actor.id });
      for (const { entry, known } of result.kept)
        if (entry.kind === 'opened-with-reason' && !known)
          await store.note({
            at: instantOfMs(nowMs),
            actor: actor.id,
            action: 'opened-with-reason',
            subject: entry.id,
            patient: entry.patient,
          });
      const refused = [...intake.refused, ...result.refused];
      if (refused.length > 0)
        request.log.info({ codes: refused.map(({ refusal }) => refusal.code) }, 'entries refused');
      return {
        kept: result.kept.map(({ entry, sequence, receivedAt, known }) => ({
          id: entry.id,
          sequence,
          receivedAt,
          known,
        })),
        refused,
      };
    },
  });

  app.route({
    method: 'GET',
    url: '/api/entries',
    config: { rule: keptByHandler(viewers('board', 'patient')) },
    schema: {
      tags: ['record'],
      description:
        'Of the patients whom the caller follows: those of their wards, those whom they have or were offered; for a system everybody. A patient who comes brings the whole record along. `through` is how far was read, to go on from; a cursor is good for one `scope`, and with another reading begins anew. At the end `patients` names everybody who is followed now: others leave the tablet. Practice is left out (GET /api/practice).',
      querystring: z.strictObject({
        scope: z.string().max(4000).optional(),
        after: z.coerce.number().int().min(0).default(0),
        limit: z.coerce.number().int().min(1).max(pageLimit).default(pageLimit),
      }),
      response: {
        200: z.object({
          entries: z.array(keptEntryShape),
          head: z.number().int(),
          through: z.number().int(),
          scope: z.string(),
          patients: z.array(z.string()).optional(),
        }),
        400: refusalBody,
        401: refusalBody,
        403: refusalBody,
      },
    },
    handler: async (request) => {
      await keptReads(parts, request, 'record');
      const { key, reach } = await reaches.scopeOf(request.actor as Actor, now());
      const { scope, limit } = request.query;
      const after = scope === undefined || scope === key ? request.query.after : 0;
      const head = await store.head();
      if (reach === undefined) {
        const page = await store.after(after, limit);
        const entries = page.filter(({ entry }) => !isPractice(entry));
        return { entries, head, through: page.at(-1)?.sequence ?? after, scope: key };
      }
      const { entries, through } = await store.afterInReach(after, reach, limit);
      const patients = through >= head ? { patients: [...(await store.patientsInReach(reach))] } : {};
      return { entries: [...entries], head, through, scope: key, ...patients };
    },
  });

  app.route({
    method: 'GET',
    url: '/api/practice',
    config: { rule: keptByHandler(viewers('practice')) },
    schema: {
      tags: ['record'],
      description:
        'Results of practice on simulated pictures: the own ones; for an assessor those of everybody who shares a ward with them.',
      response: {
        200: z.object({ entries: z.array(keptEntryShape) }),
        401: refusalBody,
        403: refusalBody,
      },
    },
    handler: async (request) => {
      await keptReads(parts, request, 'practice');
      const entries: KeptEntry[] = [];
      for (const person of practiceReadBy(request.actor as Actor, directory.current().people))
        entries.push(...(await store.ofPatient(practiceRecordOf(person))));
      return { entries: entries.filter(({ entry }) => isPractice(entry)) };
    },
  });
}

/** Whose results somebody may see. */
function practiceReadBy(actor: Actor, people: readonly Person[]): readonly string[] {
  if (actor.kind === 'machine') return [];
  if (actor.role !== 'assessor') return [actor.id];
  const wards = new Set(actor.person.wards);
  return people
    .filter(({ id, wards: theirs }) => id === actor.id || theirs.some((ward) => wards.has(ward)))
    .map(({ id }) => id);
}
