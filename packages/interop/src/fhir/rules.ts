/**
 * Rules that the public validators let pass, checked on everything before it leaves: where references may point and
 * that they resolve, UCUM units with their system, a value or the reason for none but never both, one value only,
 * no empty lists, volumes within what a bladder or a bag can hold.
 *
 * Source    S-fhir-r4 (obs-6, qty-3, value[x]); gaps of the validators measured in conformance/fhir
 */
import { controlIsOn, refuse, type Refusal } from '@ebbline/core/quantity';
import { unitWords, type Bundle, type Resource } from './resource.ts';

const targets: Readonly<Record<string, Readonly<Record<string, readonly string[]>>>> = {
  Observation: {
    subject: ['Patient'],
    encounter: ['Encounter'],
    performer: ['Practitioner', 'Organization'],
    device: ['Device', 'DeviceMetric'],
    partOf: ['Procedure'],
    derivedFrom: ['Observation'],
    focus: ['GuidanceResponse'],
  },
  Procedure: {
    subject: ['Patient'],
    encounter: ['Encounter'],
    reasonReference: ['Observation', 'Procedure', 'Condition'],
  },
  Device: { patient: ['Patient'], location: ['Location'] },
  DeviceMetric: { source: ['Device'] },
  DeviceUseStatement: { subject: ['Patient'], device: ['Device'], source: ['Practitioner', 'Patient'] },
  Encounter: { subject: ['Patient'], serviceProvider: ['Organization'] },
  Location: { partOf: ['Location'], managingOrganization: ['Organization'] },
  Task: {
    for: ['Patient'],
    encounter: ['Encounter'],
    owner: ['Practitioner', 'Organization'],
    focus: ['GuidanceResponse', 'ServiceRequest', 'CommunicationRequest'],
    location: ['Location'],
  },
  DetectedIssue: { patient: ['Patient'], implicated: ['Task', 'Observation'] },
  Flag: { subject: ['Patient'], encounter: ['Encounter'], author: ['Practitioner'] },
  ServiceRequest: { subject: ['Patient'], encounter: ['Encounter'], requester: ['Practitioner'] },
  GuidanceResponse: { subject: ['Patient'], encounter: ['Encounter'], reasonReference: ['Observation'] },
  CommunicationRequest: { subject: ['Patient'], encounter: ['Encounter'], requester: ['Practitioner'] },
  Communication: {
    subject: ['Patient'],
    encounter: ['Encounter'],
    sender: ['Practitioner'],
    basedOn: ['CommunicationRequest'],
    inResponseTo: ['Communication'],
  },
  Patient: { managingOrganization: ['Organization'] },
};

const largest: Readonly<Record<string, number>> = { mL: 6000, g: 4000, kg: 400, min: 14_400, cm: 30 };

const fault = (code: string, where: string, found: string, allowed: string, todo: string): Refusal =>
  refuse(`fhir/${code}`, { asked: 'FHIR resource', found, allowed, todo, where });

const isObject = (value: unknown): value is Record<string, unknown> =>
  typeof value === 'object' && value !== null && !Array.isArray(value);

function* walk(value: unknown, where: string): Generator<readonly [string, unknown]> {
  yield [where, value];
  if (Array.isArray(value))
    for (const [index, one] of value.entries()) yield* walk(one, `${where}[${index}]`);
  else if (isObject(value))
    for (const [name, one] of Object.entries(value)) yield* walk(one, `${where}.${name}`);
}

const referencesIn = (value: unknown): readonly string[] => {
  if (Array.isArray(value)) return value.flatMap(referencesIn);
  return isObject(value) && typeof value['reference'] === 'string' ? [value['reference']] : [];
};

/** Faults of one resource. */
export function checkResource(resource: Resource): readonly Refusal[] {
  const faults: Refusal[] = [];
  const name = resource.resourceType;
  for (const [where, value] of walk(resource, name)) {
    if (Array.isArray(value) && value.length === 0)
      faults.push(
        fault(
          'empty-list',
          where,
          'an empty list',
          'at least one item, or the field left out',
          'Leave the field out.',
        ),
      );
    if (isObject(value)) {
      if (Object.keys(value).length === 0)
        faults.push(fault('empty-object', where, 'an empty object', 'at least one field', 'Leave it out.'));
      const values = Object.keys(value).filter((key) => /^value[A-Z]/.test(key));
      if (values.length > 1)
        faults.push(fault('two-values', where, values.join(' and '), 'one value[x]', 'Keep one.'));
      if (
        value['dataAbsentReason'] !== undefined &&
        values.length > 0 &&
        controlIsOn('H3-absent-is-not-zero')
      )
        faults.push(
          fault(
            'value-and-absent',
            where,
            `${values.join()} with dataAbsentReason`,
            'a value, or the reason for none',
            'Never send a value for what was not obtained.',
          ),
        );
      const looksLikeQuantity = typeof value['value'] === 'number';
      if (looksLikeQuantity) {
        const code = value['code'];
        if (value['system'] !== 'http://unitsofmeasure.org')
          faults.push(
            fault(
              'unit-system',
              where,
              String(value['system'] ?? 'no system'),
              'http://unitsofmeasure.org',
              'Give the system with the unit code.',
            ),
          );
        if (typeof code !== 'string' || !Object.hasOwn(unitWords, code))
          faults.push(
            fault(
              'unit',
              where,
              String(code ?? 'no unit code'),
              Object.keys(unitWords).join(', '),
              'Use the UCUM code.',
            ),
          );
        const number = value['value'] as number;
        if (!Number.isFinite(number) || number < 0 || number > (largest[String(code)] ?? 100_000))
          faults.push(
            fault(
              'range',
              where,
              `${number} ${String(code)}`,
              `0 to ${largest[String(code)] ?? 100_000}`,
              'Check the number and the unit.',
            ),
          );
      }
    }
  }
  for (const [field, allowed] of Object.entries(targets[name] ?? {})) {
    for (const one of referencesIn(resource[field])) {
      const type = one.split('/')[0] ?? '';
      if (!allowed.includes(type))
        faults.push(
          fault(
            'reference-target',
            `${name}.${field}`,
            type,
            allowed.join(', '),
            'Point at the right kind of resource.',
          ),
        );
    }
  }
  if (
    name === 'Observation' &&
    !Object.keys(resource).some((key) => /^value[A-Z]/.test(key)) &&
    resource['dataAbsentReason'] === undefined
  ) {
    faults.push(
      fault('no-value', name, 'neither a value nor a reason', 'one of them', 'Say why there is no value.'),
    );
  }
  return faults;
}

/** Faults of a bundle: those of its resources, references that do not resolve, and a patient that is not the bundle's. */
export function checkBundle(bundle: Bundle): readonly Refusal[] {
  const faults: Refusal[] = [];
  const here = new Set(bundle.entry.map((one) => `${one.resource.resourceType}/${one.resource.id}`));
  if (here.size !== bundle.entry.length)
    faults.push(
      fault('same-id', 'Bundle', 'two resources of one type and id', 'each once', 'Give each its own id.'),
    );
  for (const { resource } of bundle.entry) {
    faults.push(...checkResource(resource));
    for (const [where, value] of walk(resource, `${resource.resourceType}/${resource.id}`)) {
      if (!isObject(value)) continue;
      const target = value['reference'];
      if (typeof target === 'string' && !here.has(target))
        faults.push(
          fault(
            'dangling',
            where,
            target,
            'a resource of this bundle',
            'Add it, or leave the reference out.',
          ),
        );
    }
  }
  return faults;
}
