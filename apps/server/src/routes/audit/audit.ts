/** The audit, row by row, and the questions of those who answer for privacy: who looked at a patient, at what a person looked. */
import { z } from 'zod';
import { instantOfMs, isRefusal, readInstant } from '@ebbline/core/quantity';
import { shownPages } from '@ebbline/core/record';
import { detailOf, noteRequest, tabletOf } from '../../audit/note-request.ts';
import { createWhoLooked, isCursor, type LookPage } from '../../audit/who-looked.ts';
import { AnswerError, refusalBody } from '../../answers.ts';
import type { App, Parts } from '../../parts.ts';
import { ofPatient, signedIn, viewers } from '../../rules.ts';
import { unknownPatient, unknownPerson } from '../reports/unknown.ts';
import type { AuditNote } from '@ebbline/store';

const row = z.object({
  sequence: z.number().int(),
  at: z.string(),
  actor: z.string(),
  action: z.string(),
  subject: z.string(),
  patient: z.string().optional(),
  contentDigest: z.string().optional(),
  toldAt: z.string().optional(),
  noteId: z.string().optional(),
  detail: z
    .object({
      tablet: z.string().optional(),
      ward: z.string().optional(),
      actorWards: z.array(z.string()).readonly().optional(),
      way: z.string().optional(),
      carriedBy: z.string().optional(),
      clockAheadMin: z.number().optional(),
    })
    .optional(),
  chain: z.string(),
});

const word = z.string().min(1).max(120);
const instant = z
  .string()
  .refine((text) => !isRefusal(readInstant(text)), { message: 'an instant with its offset' })
  .transform((text) => instantOfMs(readInstant(text) as number));
/** How much a tablet may tell at once. */
const mostViews = 500;
/** A table that is taken out holds at most so many lines; a shorter period holds the rest. */
const mostLines = 20_000;
const look = z
  .object({
    cursor: z.string(),
    happenedAt: z.string(),
    receivedAt: z.string(),
    person: z.object({ id: z.string(), name: z.string(), role: z.string() }),
    kind: z.enum(['looked', 'recorded', 'corrected', 'taken-out', 'other']),
    what: z.string(),
    tablet: z.string().optional(),
    ward: z.string().optional(),
    patient: z.object({ id: z.string(), label: z.string() }).optional(),
    unusual: z.array(z.object({ mark: z.string(), words: z.string() })).readonly(),
  })
  .meta({ id: 'Look', description: 'One thing that somebody did with a record, in words.' });
const lookPage = z.object({ lines: z.array(look).readonly(), next: z.string().optional() });
const asked = z.strictObject({
  patient: word.optional(),
  person: word.optional(),
  from: instant.optional(),
  until: instant.optional(),
});

export function auditRoutes(app: App, parts: Parts): void {
  const { store, directory, finder, now } = parts;
  const whoLooked = createWhoLooked(parts);
  const rule = viewers('audit');

  app.route({
    method: 'GET',
    url: '/api/audit',
    config: { rule },
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

  app.route({
    method: 'POST',
    url: '/api/audit/views',
    config: { rule: signedIn },
    schema: {
      tags: ['audit'],
      description:
        'What a tablet has shown, told at once or days later, as often as it takes: a second telling under the same id adds nothing. Each is noted under the person to whom it was shown.',
      body: z.strictObject({
        views: z
          .array(
            z.strictObject({
              id: z.uuid(),
              person: word,
              at: instant,
              shown: z.enum(shownPages),
              patient: word.optional(),
              ward: word.optional(),
            }),
          )
          .min(1)
          .max(mostViews),
      }),
      response: { 200: z.object({ added: z.number().int() }), 400: refusalBody },
    },
    handler: async (request) => {
      const nowMs = now();
      const teller = request.actor?.id ?? '';
      const tablet = tabletOf(request);
      const known = await Promise.all(
        request.body.views.map(
          async ({ patient }) =>
            patient !== undefined && (isMadeId(patient) || (await store.knowsPatient(patient))),
        ),
      );
      const notes = request.body.views.map((view, index): AuditNote => {
        const aheadMin = Math.round((readMs(view.at) - nowMs) / 60_000);
        return {
          at: instantOfMs(nowMs),
          // Only ids stand in the audit: what is none might be a name in the wrong field.
          actor: directory.person(view.person) === undefined ? 'nobody known' : view.person,
          action: 'viewed',
          subject: view.shown,
          ...(known[index] === true && view.patient !== undefined ? { patient: view.patient } : {}),
          ...(aheadMin > 0 ? {} : { toldAt: view.at }),
          noteId: view.id,
          detail: detailOf(parts, view.person, {
            ...(tablet === undefined ? {} : { tablet }),
            ...(view.ward === undefined ? {} : { ward: view.ward }),
            ...(view.person === teller ? {} : { carriedBy: teller }),
            ...(aheadMin > 0 ? { clockAheadMin: aheadMin } : {}),
          }),
        };
      });
      return { added: await store.noteAll(notes) };
    },
  });

  app.route({
    method: 'GET',
    url: '/api/audit/patients',
    config: { rule },
    schema: {
      tags: ['audit'],
      description: 'Patients by name, identifier, or ward and bed: what tells one from another, and no more.',
      querystring: z.strictObject({ find: z.string().trim().min(2).max(120) }),
      response: {
        200: z.object({
          patients: z.array(
            z.object({
              id: z.string(),
              familyName: z.string(),
              givenName: z.string(),
              identifier: z.string(),
              ward: z.string(),
              bed: z.string(),
            }),
          ),
        }),
      },
    },
    handler: async (request) => {
      await noteRequest(parts, request, { action: 'read', subject: 'find-patient' });
      const { wards } = directory.current();
      const found = await finder.find(request.query.find, 20);
      return {
        patients: found.map((one) => ({
          ...one,
          ward: wards.find(({ id }) => id === one.ward)?.name ?? one.ward,
        })),
      };
    },
  });

  const pageOf = async (
    query: z.output<typeof asked>,
    more: { readonly before?: string | undefined; readonly limit: number },
  ): Promise<LookPage> => {
    const { patient, person, from, until } = query;
    if (patient !== undefined && person === undefined) {
      if (!(await store.knowsPatient(patient))) throw new AnswerError(404, unknownPatient());
      return whoLooked.ofPatient(patient, { from, until, ...more });
    }
    if (person === undefined || patient !== undefined) throw new AnswerError(422, unknownPerson());
    return whoLooked.ofPerson(person, { from, until, ...more });
  };

  app.route({
    method: 'GET',
    url: '/api/audit/looks',
    config: { rule: ofPatient(rule, 'query') },
    schema: {
      tags: ['audit'],
      description:
        'Who did what with a patient’s record, or what a person looked at: newest first, `next` reads on. What is out of the ordinary is said in words, as facts.',
      querystring: asked.extend({
        before: z.string().refine(isCursor, { message: 'the `next` of the page before' }).optional(),
        limit: z.coerce.number().int().min(1).max(200).default(50),
      }),
      response: { 200: lookPage, 404: refusalBody, 422: refusalBody },
    },
    handler: async (request) => {
      const { before, limit, ...query } = request.query;
      const page = await pageOf(query, { before, limit });
      await noteRequest(parts, request, {
        action: 'read',
        subject: query.person === undefined ? 'who-looked' : `what-looked-at ${query.person}`,
        ...(query.patient === undefined ? {} : { patient: query.patient }),
      });
      return page;
    },
  });

  app.route({
    method: 'GET',
    url: '/api/audit/looks.csv',
    config: { rule: ofPatient(rule, 'query') },
    schema: {
      tags: ['audit'],
      description: `The same as a table (text/csv), at most ${mostLines} lines.`,
      querystring: asked,
      response: { 404: refusalBody, 422: refusalBody },
    },
    handler: async (request, reply) => {
      const { writeRows } = await import('@ebbline/interop/csv');
      const page = await pageOf(request.query, { limit: mostLines });
      await noteRequest(parts, request, {
        action: 'exported',
        subject: 'who-looked.csv',
        ...(request.query.patient === undefined ? {} : { patient: request.query.patient }),
      });
      const text = writeRows([
        ['when', 'received', 'person', 'name', 'role', 'what', 'patient', 'ward', 'tablet', 'to note'],
        ...page.lines.map((line) => [
          line.happenedAt,
          line.receivedAt,
          line.person.id,
          line.person.name,
          line.person.role,
          line.what,
          line.patient?.id ?? request.query.patient ?? '',
          line.ward ?? '',
          line.tablet ?? '',
          line.unusual.map(({ words }) => words).join(' '),
        ]),
      ]);
      return reply
        .type('text/csv; charset=utf-8')
        .header('content-disposition', 'attachment; filename="who-looked.csv"')
        .send(text as never);
    },
  });
}

/** A patient whom a tablet registered has such an id, and its registration may come after the look. */
const isMadeId = (id: string): boolean => z.uuid().safeParse(id).success;

/** An instant that the schema has read already. */
const readMs = (text: string): number => readInstant(text) as number;
