/** The printed things: a ward's handover sheet and one patient's page, as PDF. */
import { z } from 'zod';
import type { FastifyReply } from 'fastify';
import { AnswerError, refusalBody, sendPdf } from '../../answers.ts';
import { noteRequest } from '../../audit/note-request.ts';
import type { App, Parts } from '../../parts.ts';
import { ofPatient, ofWard, viewers } from '../../rules.ts';
import { unknownPatient, unknownWard } from './unknown.ts';

const word = z.string().min(1).max(120);

export function reportRoutes(app: App, parts: Parts): void {
  const { view, directory, now } = parts;

  app.route({
    method: 'GET',
    url: '/api/reports/handover.pdf',
    config: { rule: ofWard(viewers('handover'), 'query') },
    schema: {
      tags: ['reports'],
      querystring: z.strictObject({ ward: word }),
      response: { 404: refusalBody },
    },
    handler: async (request, reply) => {
      const nowMs = now();
      const facts = await view.wardFacts(request.query.ward, nowMs);
      const ward = directory.current().wards.find(({ id }) => id === request.query.ward);
      if (facts === undefined || ward === undefined) throw new AnswerError(404, unknownWard());
      const { handoverPdf } = await import('@ebbline/interop/pdf');
      const bytes = await handoverPdf({
        ward: facts,
        directory: directory.current(),
        zone: ward.zone,
        printedAtMs: nowMs,
      });
      await noteRequest(parts, request, {
        action: 'exported',
        subject: `handover.pdf ${ward.id}`,
        ward: ward.id,
      });
      return sendPdf(reply as FastifyReply, 'handover', bytes);
    },
  });

  app.route({
    method: 'GET',
    url: '/api/reports/patient.pdf',
    config: { rule: ofPatient(viewers('patient'), 'query') },
    schema: {
      tags: ['reports'],
      querystring: z.strictObject({ patient: word }),
      response: { 404: refusalBody },
    },
    handler: async (request, reply) => {
      const nowMs = now();
      const { patient } = request.query;
      const facts = await view.patientFacts(patient, nowMs);
      if (facts === undefined) throw new AnswerError(404, unknownPatient());
      const zone = directory.current().wards.find(({ id }) => id === facts.ward)?.zone ?? 'UTC';
      const { patientPdf } = await import('@ebbline/interop/pdf');
      const bytes = await patientPdf({ facts, directory: directory.current(), zone, printedAtMs: nowMs });
      await noteRequest(parts, request, { action: 'exported', subject: 'patient.pdf', patient });
      return sendPdf(reply as FastifyReply, 'patient', bytes);
    },
  });
}
