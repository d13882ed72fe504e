/** The beds of a ward that is not one's own, to open a patient there with a reason: bed and initials, nothing more. */
import { z } from 'zod';
import { mayWrite } from '@ebbline/core/record';
import { noteRequest } from '../../audit/note-request.ts';
import { AnswerError, refusalBody } from '../../answers.ts';
import type { App, Parts } from '../../parts.ts';
import { keptByHandler, viewers, type Actor } from '../../rules.ts';
import { unknownWard } from '../reports/unknown.ts';

export function bedRoutes(app: App, parts: Parts): void {
  const { store, directory, view, now } = parts;
  app.route({
    method: 'GET',
    url: '/api/wards/:ward/beds',
    // Of any ward: that is what it is for. It gives no more than tells one bed from another.
    config: { rule: keptByHandler(viewers('patient')) },
    schema: {
      tags: ['record'],
      description:
        'Who lies where on a ward, by bed and initials, for opening a patient there with a reason (an entry of kind opened-with-reason). `forMin`: for how long at most; 0 lets nobody.',
      params: z.strictObject({ ward: z.string().min(1).max(120) }),
      response: {
        200: z.object({
          beds: z.array(z.object({ patient: z.string(), bed: z.string(), initials: z.string() })),
          forMin: z.number(),
        }),
        404: refusalBody,
      },
    },
    handler: async (request) => {
      const actor = request.actor as Actor;
      const ward = directory.current().wards.find(({ id }) => id === request.params.ward);
      if (ward === undefined) throw new AnswerError(404, unknownWard());
      // Who may open nobody is shown nobody.
      if (actor.kind !== 'person' || !mayWrite(actor.role, 'opened-with-reason'))
        return { beds: [], forMin: 0 };
      const nowMs = now();
      await noteRequest(parts, request, { action: 'read', subject: 'beds', ward: ward.id });
      const here = await store.patientsInReach({ wards: [{ ward: ward.id, heardSinceMs: 0 }], nowMs });
      const beds: { patient: string; bed: string; initials: string }[] = [];
      for (const patient of here) {
        const facts = await view.patientFacts(patient, nowMs);
        if (facts?.ward === ward.id) beds.push({ patient, bed: facts.bed, initials: facts.initials });
      }
      beds.sort((a, b) => a.bed.localeCompare(b.bed, 'en', { numeric: true }));
      return { beds, forMin: ward.settings.openWithReasonMin };
    },
  });
}
