/** One patient's record as a FHIR R4 bundle. */
import { z } from 'zod';
import { AnswerError, refusalBody } from '../../answers.ts';
import { noteRequest } from '../../audit/note-request.ts';
import type { App, Parts } from '../../parts.ts';
import { ofPatient, viewers } from '../../rules.ts';
import { unknownPatient } from '../reports/unknown.ts';

export function bundleRoutes(app: App, parts: Parts): void {
  app.route({
    method: 'GET',
    url: '/api/patients/:patient/bundle',
    config: { rule: ofPatient(viewers('patient'), 'params') },
    schema: {
      tags: ['exchange'],
      params: z.strictObject({ patient: z.string().min(1).max(120) }),
      response: { 404: refusalBody },
    },
    handler: async (request, reply) => {
      const { patient } = request.params;
      const nowMs = parts.now();
      const facts = await parts.view.patientFacts(patient, nowMs);
      if (facts === undefined) throw new AnswerError(404, unknownPatient());
      const directory = parts.directory.current();
      const { patientBundle } = await import('@ebbline/interop/fhir');
      const zone = directory.wards.find((ward) => ward.id === facts.ward)?.zone ?? 'UTC';
      const bundle = patientBundle({ facts, directory, organisation: directory.organisation, zone });
      await noteRequest(parts, request, { action: 'exported', subject: 'fhir-bundle', patient });
      return reply.type('application/fhir+json; charset=utf-8').send(JSON.stringify(bundle) as never);
    },
  });
}
