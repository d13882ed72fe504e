/** What is true of a patient now, for a report that somebody reads: unknown patients are refused, and the audit hears of it. */
import type { PatientFacts } from '@ebbline/core/facts';
import { instantOfMs } from '@ebbline/core/quantity';
import { AnswerError } from '../../answers.ts';
import type { Parts } from '../../parts.ts';
import { unknownPatient } from './unknown.ts';

export async function patientRead(
  parts: Parts,
  request: {
    readonly query: { readonly patient: string };
    readonly actor?: { readonly id: string } | undefined;
  },
  subject: string,
): Promise<PatientFacts> {
  const { patient } = request.query;
  const nowMs = parts.now();
  const facts = await parts.view.patientFacts(patient, nowMs);
  if (facts === undefined) throw new AnswerError(404, unknownPatient());
  await parts.store.note({
    at: instantOfMs(nowMs),
    actor: request.actor?.id ?? '',
    action: 'read',
    subject,
    patient,
  });
  return facts;
}
