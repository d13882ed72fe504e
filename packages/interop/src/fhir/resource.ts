// Small tools for writing FHIR R4 resources: plain objects, nothing empty, nothing undefined.
import { uuidOfText } from '@ebbline/core/quantity';

/** A FHIR R4 resource as JSON. The validators of conformance/fhir know its shape, not the type system. */
export interface Resource {
  readonly resourceType: string;
  readonly id: string;
  readonly [name: string]: unknown;
}

export interface BundleEntry {
  readonly fullUrl: string;
  readonly resource: Resource;
  readonly request?: { readonly method: 'PUT'; readonly url: string };
}

export interface Bundle {
  readonly resourceType: 'Bundle';
  readonly id: string;
  readonly type: 'transaction';
  readonly timestamp: string;
  readonly entry: readonly BundleEntry[];
}

export interface Coding {
  readonly system: string;
  readonly code: string;
  readonly display: string;
}

export interface CodeableConcept {
  readonly coding?: readonly Coding[];
  readonly text: string;
}

export interface Reference {
  readonly reference: string;
  readonly display?: string;
}

const isPlain = (value: unknown): value is Record<string, unknown> =>
  typeof value === 'object' && value !== null && !Array.isArray(value);

/** The value without undefined members, empty lists and empty objects: FHIR allows none of them. */
export function tidy(value: unknown): unknown {
  if (Array.isArray(value)) {
    const kept = value.map(tidy).filter((one) => one !== undefined);
    return kept.length === 0 ? undefined : kept;
  }
  if (!isPlain(value)) return value;
  const kept = Object.entries(value)
    .map(([name, one]) => [name, tidy(one)] as const)
    .filter(([, one]) => one !== undefined);
  return kept.length === 0 ? undefined : Object.fromEntries(kept);
}

/** A resource, tidied. */
export function resource(resourceType: string, id: string, members: Record<string, unknown>): Resource {
  return tidy({ resourceType, id, ...members }) as Resource;
}

/** FHIR ids allow letters, digits, `-` and `.`, at most 64. Another key is turned into a UUID, always the same. */
export function fhirId(key: string): string {
  return /^[A-Za-z0-9.-]{1,64}$/.test(key) ? key : uuidOfText(`fhir:${key}`);
}

export function reference(resourceType: string, id: string, display?: string): Reference {
  return { reference: `${resourceType}/${id}`, ...(display === undefined ? {} : { display }) };
}

const ucum = 'http://unitsofmeasure.org';

/** UCUM codes that are written, with what a person reads. Checked against a UCUM library (S-ucum) in conformance/fhir. */
export const unitWords = {
  mL: 'mL',
  g: 'g',
  kg: 'kg',
  min: 'min',
  cm: 'cm',
  '1': '1',
  '[Ch]': 'Ch',
  'mm[Hg]': 'mmHg',
  'umol/L': 'umol/L',
  'mmol/L': 'mmol/L',
  mg: 'mg',
  '%': '%',
} as const;
export type UnitCode = keyof typeof unitWords;

export interface Quantity {
  readonly value: number;
  readonly comparator?: '>=';
  readonly unit: string;
  readonly system: string;
  readonly code: UnitCode;
}

/** A quantity with its UCUM code. `atLeast` is FHIR's own comparator for "the truth is this or more". */
export function quantity(value: number, code: UnitCode, atLeast = false): Quantity {
  return {
    value,
    ...(atLeast ? { comparator: '>=' as const } : {}),
    unit: unitWords[code],
    system: ucum,
    code,
  };
}

/** A range in mL; a missing end stays missing. */
export function rangeMl(
  low: number | undefined,
  high: number | undefined,
): Record<string, Quantity> | undefined {
  if (low === undefined && high === undefined) return undefined;
  return {
    ...(low === undefined ? {} : { low: quantity(low, 'mL') }),
    ...(high === undefined ? {} : { high: quantity(high, 'mL') }),
  };
}
