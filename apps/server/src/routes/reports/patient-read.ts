/** What is true of a patient now, for a report that somebody reads: unknown patients are refused, and the audit hears of it. */
import type { PatientFacts } from '@ebbline/core/facts';
import type { FastifyRequest } from 'fastify';
import { AnswerError } from '../../answers.ts';
import { noteRequest } from '../../audit/note-request.ts';
import type { Parts } from '../../parts.ts';
import { unknownPatient } from './unknown.ts';

export async function patientRead(
  parts: Parts,
  request: FastifyRequest & { readonly query: { readonly patient: string } },
  subject: string,
): Promise<PatientFacts> {
  const { patient } = request.query;
  const nowMs = parts.now();
  const facts = await parts.view.patientFacts(patient, nowMs);
  if (facts === undefined) throw new AnswerError(404, unknownPatient());
  await noteRequest(parts, request, { action: 'read', subject, patient });
  return facts;
}
