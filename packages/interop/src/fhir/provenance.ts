/**
 * Corrections are never silent: the old resource stays, marked entered-in-error, and a Provenance says who set it
 * aside, when, why, and what took its place.
 *
 * Source    S-fhir-r4
 */
import { instantMs } from '@ebbline/core/quantity';
import type { TimelineEntry } from '@ebbline/core/facts';
import { add, entryResourceId, practitioner, when, type Making } from './making.ts';
import { reference, resource, type Reference } from './resource.ts';
import { plain } from './words.ts';

const operations = { CREATE: 'create', UPDATE: 'revise', NULLIFY: 'nullify' } as const;

/** The resource that an entry became, whichever type it has. */
function resourceOf(making: Making, item: TimelineEntry): Reference | undefined {
  const id = entryResourceId(making, item);
  for (const type of [
    'Observation',
    'Procedure',
    'ServiceRequest',
    'GuidanceResponse',
    'Flag',
    'CommunicationRequest',
    'Communication',
    'Provenance',
  ]) {
    if (making.made.has(`${type}/${id}`)) return reference(type, id);
  }
  return undefined;
}

const logical = (id: string): Record<string, unknown> => ({
  identifier: { system: 'urn:ietf:rfc:3986', value: `urn:uuid:${id}` },
});

function addProvenance(
  making: Making,
  item: TimelineEntry,
  id: string,
  operation: keyof typeof operations,
  target: Reference,
  reason: string,
  old: Record<string, unknown> | Reference | undefined,
): void {
  const { entry } = item;
  const who = practitioner(making, entry.author);
  add(
    making,
    resource('Provenance', id, {
      target: [target],
      occurredDateTime: when(making, instantMs(entry.effectiveAt)),
      recorded: when(making, instantMs(entry.recordedAt)),
      activity: {
        coding: [
          {
            system: 'http://terminology.hl7.org/CodeSystem/v3-DataOperation',
            code: operation,
            display: operations[operation],
          },
        ],
        text: plain(operations[operation]),
      },
      reason: [{ text: reason }],
      agent: [
        {
          type: {
            coding: [
              {
                system: 'http://terminology.hl7.org/CodeSystem/provenance-participant-type',
                code: 'author',
                display: 'Author',
              },
            ],
            text: 'Author',
          },
          who,
        },
      ],
      entity: old === undefined ? [] : [{ role: 'revision', what: old }],
    }),
  );
}

/** A Provenance for every correction, withdrawal and move in this patient's record. */
export function addProvenances(making: Making): void {
  const { timeline } = making.facts;
  const find = (id: string): TimelineEntry | undefined => timeline.find((one) => one.entry.id === id);
  for (const item of timeline) {
    const { entry } = item;
    const id = entryResourceId(making, item);
    if (entry.kind === 'withdrawn') {
      const old = find(entry.payload.of);
      const target = old === undefined ? undefined : resourceOf(making, old);
      if (target !== undefined)
        addProvenance(
          making,
          item,
          id,
          'NULLIFY',
          target,
          `Withdrawn: ${plain(entry.payload.reason).toLowerCase()}${entry.payload.note === undefined ? '' : `. ${entry.payload.note}`}`,
          undefined,
        );
    } else if (entry.kind === 'moved-to-patient') {
      const old = find(entry.payload.of);
      const target = old === undefined ? undefined : resourceOf(making, old);
      if (target === undefined || old === undefined) continue;
      const arrived = entry.payload.toPatient === making.facts.patient;
      addProvenance(
        making,
        item,
        id,
        arrived ? 'CREATE' : 'NULLIFY',
        target,
        arrived ? 'Written in another record, belongs here.' : 'Written in the wrong record, moved.',
        arrived ? logical(entry.payload.of) : undefined,
      );
    } else if (entry.corrects !== undefined) {
      const target = resourceOf(making, item);
      const old = find(entry.corrects);
      const oldResource = old === undefined ? undefined : resourceOf(making, old);
      if (target !== undefined)
        addProvenance(
          making,
          item,
          id,
          'UPDATE',
          target,
          'Corrected',
          oldResource ?? logical(entry.corrects),
        );
    }
  }
}
