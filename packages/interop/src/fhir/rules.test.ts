// Proves     our own rules catch what would do harm in somebody else's chart; each case is caught by its own code.
// Tolerance  none
import { describe, expect, it } from 'vitest';
import { checkBundle, checkResource } from './rules.ts';
import { tidy, type Resource } from './resource.ts';

const mL = (value: number): object => ({
  value,
  unit: 'mL',
  system: 'http://unitsofmeasure.org',
  code: 'mL',
});
const good: Resource = {
  resourceType: 'Observation',
  id: 'o',
  status: 'final',
  code: { text: 'Volume' },
  subject: { reference: 'Patient/p' },
  valueQuantity: mL(214),
};
const codes = (resource: Resource): readonly string[] => checkResource(resource).map((one) => one.code);

describe('our own rules', () => {
  it('let a good observation pass', () => {
    expect(codes(good)).toEqual([]);
  });

  it('stop a value beside the reason for none [H3-absent-is-not-zero]', () => {
    expect(codes({ ...good, valueQuantity: mL(0), dataAbsentReason: { text: 'Not obtained' } })).toEqual([
      'fhir/value-and-absent',
    ]);
  });

  it('stop a component that says both, too [H3-absent-is-not-zero]', () => {
    expect(
      codes({
        ...good,
        component: [{ code: { text: 'Width' }, valueQuantity: mL(0), dataAbsentReason: { text: 'x' } }],
      }),
    ).toEqual(['fhir/value-and-absent']);
  });

  it('name the code of each other fault', () => {
    expect(codes({ ...good, note: [] })).toEqual(['fhir/empty-list']);
    expect(codes({ ...good, code: {} })).toEqual(['fhir/empty-object']);
    expect(codes({ ...good, valueString: '214' })).toEqual(['fhir/two-values']);
    expect(codes({ ...good, subject: { reference: 'Location/w' } })).toEqual(['fhir/reference-target']);
    expect(codes({ ...good, valueQuantity: mL(9000) })).toEqual(['fhir/range']);
    expect(
      codes({ ...good, valueQuantity: { value: 1, system: 'http://unitsofmeasure.org', code: 'cc' } }),
    ).toEqual(['fhir/unit']);
    expect(codes({ ...good, valueQuantity: { value: 1, code: 'mL' } })).toEqual(['fhir/unit-system']);
    const { valueQuantity: _gone, ...without } = good;
    expect(codes(without as Resource)).toEqual(['fhir/no-value']);
  });

  it('find a reference that leads nowhere, and an id that stands twice', () => {
    const bundle = {
      resourceType: 'Bundle',
      id: 'b',
      type: 'transaction',
      timestamp: '2026-05-14T10:00:00+02:00',
      entry: [good, good].map((resource) => ({ fullUrl: 'x', resource })),
    } as const;
    expect([...new Set(checkBundle(bundle).map((one) => one.code))].sort()).toEqual([
      'fhir/dangling',
      'fhir/same-id',
    ]);
  });
});

describe('a tidied resource', () => {
  it('has nothing empty and nothing undefined, and keeps false and 0', () => {
    expect(
      tidy({
        a: undefined,
        b: [],
        c: { d: undefined },
        e: [{}, undefined],
        f: false,
        g: 0,
        h: [1, undefined],
      }),
    ).toEqual({ f: false, g: 0, h: [1] });
  });
});
