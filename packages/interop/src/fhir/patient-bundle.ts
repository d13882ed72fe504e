/**
 * One patient's record as a FHIR R4 transaction that can be sent as often as one likes: every resource has an id
 * that follows from its entry, and is put there with PUT.
 *
 * In        facts folded at `nowMs`, the directory, the organisation and the ward's zone
 * Out       Bundle of type `transaction`; references inside it always resolve
 * Not for   pictures (DICOM) and printed reports
 * Source    S-fhir-r4, S-fhir-code-table
 */
import { instantMs, uuidOfText } from '@ebbline/core/quantity';
import type { Directory } from '@ebbline/core/record';
import type { PatientFacts, TimelineEntry } from '@ebbline/core/facts';
import { codeTable, type CodeTable } from './codes.ts';
import { addAdvice, addCall, addCommunication, addFlag, addWatch } from './coordination.ts';
import { addClosedItems, addDueItem, addLateDetections } from './due-items.ts';
import { add, base, bedLocation, organization, when, type Making } from './making.ts';
import { observationOf } from './observations.ts';
import { addDrain, addPlacement, addRemoval } from './procedures.ts';
import { addProvenances } from './provenance.ts';
import { fhirId, reference, resource, type Bundle } from './resource.ts';

export interface PatientBundleInput {
  readonly facts: PatientFacts;
  readonly directory: Directory;
  readonly organisation: string;
  readonly zone: string;
  /** The site's own table of codes; the shipped one when left out. */
  readonly codes?: CodeTable;
}

const classIn = {
  system: 'http://terminology.hl7.org/CodeSystem/v3-ActCode',
  code: 'IMP',
  display: 'inpatient encounter',
};
const leaving = new Set(['discharged', 'died', 'transferred-out']);

function addPatientAndStay(making: Making): void {
  const { facts } = making;
  const { identity } = facts;
  const patientId = making.patient.reference.slice('Patient/'.length);
  add(
    making,
    resource('Patient', patientId, {
      identifier: [
        ...(identity === undefined
          ? []
          : [
              {
                use: 'usual',
                type: {
                  coding: [
                    {
                      system: 'http://terminology.hl7.org/CodeSystem/v2-0203',
                      code: 'MR',
                      display: 'Medical record number',
                    },
                  ],
                  text: 'Record number',
                },
                system: identity.identifierSystem,
                value: identity.identifierValue,
              },
            ]),
        { system: 'https://ebbline.example/patient', value: facts.patient },
      ],
      active: true,
      ...(identity === undefined
        ? {}
        : {
            name: [{ use: 'official', family: identity.familyName, given: [identity.givenName] }],
            gender: identity.sex,
            birthDate: identity.birthDate,
          }),
      managingOrganization: organization(making),
    }),
  );
  const places = facts.timeline.filter(
    (one) =>
      one.standing.state === 'live' &&
      (one.entry.kind === 'patient-registered' || one.entry.kind === 'transferred'),
  );
  const closed =
    facts.watch.state === 'closed' && facts.watch.outcome !== undefined && leaving.has(facts.watch.outcome)
      ? facts.watch.closedAtMs
      : undefined;
  const starts = places.map((one) => instantMs(one.entry.effectiveAt));
  const firstMs =
    starts[0] ??
    (facts.timeline[0] === undefined ? undefined : instantMs(facts.timeline[0].entry.effectiveAt));
  add(
    making,
    resource('Encounter', making.encounter.reference.slice('Encounter/'.length), {
      status: closed === undefined ? 'in-progress' : 'finished',
      class: classIn,
      subject: making.patient,
      serviceProvider: organization(making),
      period:
        firstMs === undefined
          ? undefined
          : { start: when(making, firstMs), ...(closed === undefined ? {} : { end: when(making, closed) }) },
      location: places.map((one, index) => {
        const { payload } = one.entry as Extract<
          TimelineEntry['entry'],
          { kind: 'patient-registered' | 'transferred' }
        >;
        const endMs = starts[index + 1] ?? closed;
        return {
          location: bedLocation(making, payload.ward, payload.bed),
          status: endMs === undefined ? 'active' : 'completed',
          period: {
            start: when(making, starts[index] ?? 0),
            ...(endMs === undefined ? {} : { end: when(making, endMs) }),
          },
        };
      }),
    }),
  );
}

function addEntry(making: Making, item: TimelineEntry): void {
  const { entry } = item;
  switch (entry.kind) {
    case 'drained':
      return addDrain(making, item, entry);
    case 'catheter-placed':
      return addPlacement(making, item, entry);
    case 'catheter-removed':
      return addRemoval(making, item, entry);
    case 'watch-opened':
      return addWatch(making, item, entry);
    case 'step-advised':
      return addAdvice(making, item, entry);
    case 'caution':
    case 'red-flag':
      return addFlag(making, item, entry);
    case 'call-made':
      return addCall(making, item, entry);
    case 'call-answered':
    case 'ownership-offered':
    case 'ownership-accepted':
    case 'overdue-acknowledged':
      return addCommunication(making, item, entry);
    default: {
      const made = observationOf({ making, item });
      if (made !== undefined) add(making, made);
    }
  }
}

export function patientBundle(input: PatientBundleInput): Bundle {
  const { facts } = input;
  const patientId = fhirId(facts.patient);
  const making: Making = {
    facts,
    directory: input.directory,
    organisation: input.organisation,
    zone: input.zone,
    codes: input.codes ?? codeTable,
    patient: reference('Patient', patientId),
    encounter: reference('Encounter', uuidOfText(`encounter:${input.organisation}:${facts.patient}`)),
    made: new Map(),
  };
  addPatientAndStay(making);
  for (const item of facts.timeline) addEntry(making, item);
  for (const due of facts.due) addDueItem(making, due);
  addClosedItems(making);
  addLateDetections(making);
  addProvenances(making);
  return {
    resourceType: 'Bundle',
    id: uuidOfText(`bundle:${input.organisation}:${facts.patient}`),
    type: 'transaction',
    timestamp: when(making, facts.nowMs),
    entry: [...making.made.values()].map((one) => ({
      fullUrl: `${base}/${one.resourceType}/${one.id}`,
      resource: one,
      request: { method: 'PUT', url: `${one.resourceType}/${one.id}` },
    })),
  };
}
