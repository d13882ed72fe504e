// What every writer of this folder is handed: the facts, the tables, and a place to put people, wards and scanners
// that were named, so that each is written once.
import { instantInZone, uuidOfText } from '@ebbline/core/quantity';
import type { Directory } from '@ebbline/core/record';
import type { PatientFacts, TimelineEntry } from '@ebbline/core/facts';
import type { CodeTable } from './codes.ts';
import { fhirId, reference, resource, type Reference, type Resource } from './resource.ts';

export const base = 'https://ebbline.example/fhir/R4';

export interface Making {
  readonly facts: PatientFacts;
  readonly directory: Directory;
  readonly organisation: string;
  readonly zone: string;
  readonly codes: CodeTable;
  readonly patient: Reference;
  readonly encounter: Reference;
  readonly made: Map<string, Resource>;
}

export function add(making: Making, one: Resource): Reference {
  making.made.set(`${one.resourceType}/${one.id}`, one);
  return reference(one.resourceType, one.id);
}

/** An instant with the ward's own offset, as people will read it. */
export function when(making: Making, ms: number): string {
  return instantInZone(ms, making.zone);
}

/**
 * The id of the resource that stands for an entry in this patient's record. The same entry gives the same id every
 * time; an entry that was moved here gets one of its own, since FHIR lets no resource change its patient.
 */
export function entryResourceId(making: Making, item: TimelineEntry): string {
  return item.movedFrom === undefined
    ? item.entry.id
    : uuidOfText(`moved:${item.entry.id}:${making.facts.patient}`);
}

export function practitioner(making: Making, person: string): Reference {
  const known = making.directory.people.find((one) => one.id === person);
  const id = fhirId(`person-${person}`);
  return {
    ...add(
      making,
      resource('Practitioner', id, {
        identifier: [{ system: 'https://ebbline.example/person', value: person }],
        active: true,
        name: [{ text: known?.name ?? person }],
      }),
    ),
    display: known?.name ?? person,
  };
}

export function organization(making: Making): Reference {
  const id = fhirId(`organisation-${making.organisation}`);
  return add(
    making,
    resource('Organization', id, {
      active: true,
      name: making.directory.organisation || making.organisation,
      identifier: [{ system: 'https://ebbline.example/organisation', value: making.organisation }],
    }),
  );
}

const physicalType = (code: string, display: string): Record<string, unknown> => ({
  coding: [{ system: 'http://terminology.hl7.org/CodeSystem/location-physical-type', code, display }],
  text: display,
});

export function wardLocation(making: Making, ward: string): Reference {
  const known = making.directory.wards.find((one) => one.id === ward);
  return add(
    making,
    resource('Location', fhirId(`ward-${ward}`), {
      identifier: [{ system: 'https://ebbline.example/ward', value: ward }],
      status: 'active',
      name: known?.name ?? ward,
      description: known?.purpose,
      mode: 'instance',
      physicalType: physicalType('wa', 'Ward'),
      managingOrganization: organization(making),
    }),
  );
}

export function bedLocation(making: Making, ward: string, bed: string): Reference {
  const partOf = wardLocation(making, ward);
  return add(
    making,
    resource('Location', fhirId(`bed-${ward}-${bed}`.replaceAll(' ', '-')), {
      status: 'active',
      name: `Bed ${bed}`,
      mode: 'instance',
      physicalType: physicalType('bd', 'Bed'),
      partOf,
    }),
  );
}

/** The scanner and what it measures; readings point at the measure. */
export function scannerMetric(making: Making, scanner: string): Reference {
  const known = making.directory.scanners.find((one) => one.id === scanner);
  const id = fhirId(`scanner-${scanner}`);
  const type = {
    coding: [
      {
        system: 'https://ebbline.example/fhir/CodeSystem/bladder-watch',
        code: 'scanner',
        display: making.codes.scanner.text,
      },
      ...making.codes.scanner.also,
    ],
    text: making.codes.scanner.text,
  };
  const source = add(
    making,
    resource('Device', id, {
      identifier: [{ system: 'https://ebbline.example/scanner', value: scanner }],
      status: 'active',
      deviceName: [{ name: known?.name ?? scanner, type: 'user-friendly-name' }],
      type,
      ...(known === undefined ? {} : { location: wardLocation(making, known.ward) }),
    }),
  );
  const volume = making.codes['bladder-volume-us'];
  return add(
    making,
    resource('DeviceMetric', id, {
      type: {
        coding: [
          {
            system: 'https://ebbline.example/fhir/CodeSystem/bladder-watch',
            code: 'bladder-volume-us',
            display: volume.text,
          },
          ...volume.also,
        ],
        text: volume.text,
      },
      unit: { coding: [{ system: 'http://unitsofmeasure.org', code: 'mL', display: 'mL' }], text: 'mL' },
      source,
      operationalStatus: 'on',
      category: 'measurement',
    }),
  );
}
