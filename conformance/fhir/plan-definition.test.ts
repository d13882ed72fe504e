// Proves     a protocol written as a PlanDefinition is accepted by two public checkers of FHIR R4 and our own rules, and says what
//            the tables say: its conditions, run by another party's FHIRPath engine, pick the row that answers at the bedside.
// Method     every starter; 120 seeded patients each, at and around the numbers that rows name (2,000 with EBBLINE_LONG=1)
// Tolerance  none
import { evalFhirPathTyped, toTypedValue, type TypedValue } from '@medplum/core';
import { describe, expect, it } from 'vitest';
import { isRefusal, orThrow, seededRandom } from '@ebbline/core/quantity';
import {
  planDefinition as planOrRefusal,
  type PlanDefinitionInput,
  type Resource,
} from '@ebbline/interop/fhir';
import {
  answerProtocol,
  dictionary,
  inputNames,
  starterProtocols,
  wholePatient,
  type CompiledProtocol,
  type ProtocolInput,
} from '@ebbline/protocol';
import { faultsOf } from './validators.ts';

const planDefinition = (input: PlanDefinitionInput): Resource => orThrow(planOrRefusal(input));
const zone = 'Europe/Oslo';
const patients = process.env['EBBLINE_LONG'] === '1' ? 2000 : 120;
const starters = starterProtocols.map((one) => [one.id, one] as const);
const signed = {
  signedBy: 'Ulla Perrin',
  role: 'manager',
  on: '2026-10-05T09:00:00Z',
  reviewBy: '2027-05-03',
} as const;

interface Action {
  readonly prefix: string;
  readonly title: string;
  readonly code: readonly { readonly coding: readonly { readonly code: string }[] }[];
  readonly timingDuration?: { readonly value: number };
  readonly participant: readonly {
    readonly role: { readonly coding: readonly { readonly code: string }[] };
  }[];
  readonly documentation: readonly { readonly label: string }[];
  readonly condition?: readonly { readonly expression: { readonly expression: string } }[];
}
const actionsOf = (plan: Resource): readonly Action[] =>
  (plan['action'] as readonly { readonly action: readonly Action[] }[])[0]?.action ?? [];

/** What the engine gives for an external constant that has no value: nothing, not an error. */
const nothing: TypedValue = { type: 'undefined', value: undefined };

function applies(action: Action, variables: Record<string, TypedValue>): boolean {
  return (action.condition ?? []).every(({ expression }) => {
    const [only, ...more] = evalFhirPathTyped(expression.expression, [nothing], variables);
    if (typeof only?.value !== 'boolean' || more.length > 0)
      throw new Error(`no yes or no: ${expression.expression}`);
    return only.value;
  });
}

function variablesOf(input: ProtocolInput): Record<string, TypedValue> {
  return Object.fromEntries(
    inputNames.map((name) => [`%${name}`, input[name] === undefined ? nothing : toTypedValue(input[name])]),
  );
}

/** Somebody of this protocol, at and around the numbers that its rows name. */
function somebody(protocol: CompiledProtocol, random: ReturnType<typeof seededRandom>): ProtocolInput {
  const ends = [0, 1, 2, 15, 19, 20, 99, 100, 150, 180, 240, 249, 250, 251, 360, 400, 401, 500, 501, 700];
  const chosen = inputNames.flatMap((name): readonly (readonly [string, unknown])[] => {
    const { kind, optional, options, min = 0, max = 0 } = dictionary[name];
    if (optional && random.below(3) === 0) return [];
    if (name === 'ageBand') return [[name, random.pick(protocol.ageBands)]];
    if (name === 'setting') return [[name, random.pick(protocol.settings)]];
    // Signs and a catheter end most ways early, so that they are rare here.
    if (name === 'redFlag' || name === 'discomfort' || name === 'catheterInPlace') {
      if (random.below(6) > 0) return [[name, name === 'redFlag' ? 'none' : false]];
    }
    if (kind === 'flag') return [[name, random.below(2) === 0]];
    if (kind === 'choice') return [[name, random.pick(options ?? [])]];
    return [[name, Math.min(max, Math.max(min, random.pick(ends)))]];
  });
  const patient = Object.fromEntries(chosen) as Partial<ProtocolInput>;
  const known = patient.volumeMl !== undefined;
  return {
    ...wholePatient(protocol, patient),
    volumeKind: known
      ? random.pick(['exact', 'exact', 'at-least'] as const)
      : random.pick(['missing', 'none-obtained'] as const),
  };
}

describe('a protocol as a PlanDefinition', () => {
  it.each(starters)(
    '%s is accepted by both checkers and our own rules, as example and signed',
    (_id, protocol) => {
      for (const approval of [protocol.approval, signed]) {
        const plan = planDefinition({ protocol, approval, zone });
        expect(faultsOf(plan)).toEqual([]);
      }
    },
  );

  it.each(starters)('%s holds every row with its step, due time, owner and sources', (_id, protocol) => {
    const table = protocol.tables.at(-1) as CompiledProtocol['tables'][number];
    const actions = actionsOf(planDefinition({ protocol, zone }));
    expect(actions.map((one) => one.prefix)).toEqual(table.rows.map((row) => row.id));
    for (const [at, row] of table.rows.entries()) {
      const value = (name: string): unknown => row.values[table.outputs.indexOf(name)];
      const action = actions[at] as Action;
      expect(action.code[0]?.coding[0]?.code).toBe(`step.${String(value('step'))}`);
      expect(action.participant[0]?.role.coding[0]?.code).toBe(`role.${String(value('ownerRole'))}`);
      expect(action.timingDuration?.value, row.id).toBe(value('dueInMin'));
      expect(action.documentation.map((one) => one.label).join(', ')).toBe(value('sourceId'));
    }
  });

  it.each(starters)('%s picks, by FHIRPath alone, the row that answers at the bedside', (_id, protocol) => {
    const actions = actionsOf(planDefinition({ protocol, zone }));
    const random = seededRandom(2611);
    const reached = new Set<string>();
    for (let turn = 0; turn < patients; turn += 1) {
      const given = somebody(protocol, random);
      const advice = answerProtocol(protocol, given);
      if (isRefusal(advice)) {
        expect.fail(`${advice.code} for ${JSON.stringify(given)}`);
      }
      // At or above the limit counts as over it before the tables are asked (see answerProtocol).
      const over = given.trigger !== 'drained' && (given.volumeMl ?? 0) >= given.limitMl;
      const variables = variablesOf(over ? { ...given, overLimit: 'yes' } : given);
      const applying = actions.filter((one) => applies(one, variables)).map((one) => one.prefix);
      if (applying.join() !== advice.row.id)
        expect.fail(`${applying.join()} for ${JSON.stringify(given)}: ${advice.row.id}`);
      reached.add(advice.row.id);
    }
    expect(reached.size).toBeGreaterThan(actions.length / 3);
  });

  it('writes "the first row counts" out, so that exactly one action applies', () => {
    const [surgery] = starterProtocols.filter((one) => one.id === 'comfort') as [CompiledProtocol];
    const first: CompiledProtocol = {
      ...surgery,
      tables: surgery.tables.map((table) => ({
        ...table,
        hitPolicy: 'FIRST',
        // A last row for everybody: it may answer only those whom no row above has taken.
        rows: [
          ...table.rows,
          {
            id: `${table.decision}-rest`,
            tests: table.inputs.map(() => 0 as const),
            values: table.rows[0]?.values ?? [],
          },
        ],
      })),
    };
    const actions = actionsOf(planDefinition({ protocol: first, zone }));
    const random = seededRandom(5);
    for (let turn = 0; turn < 60; turn += 1) {
      const given = somebody(first, random);
      const advice = answerProtocol(first, given);
      if (isRefusal(advice)) continue;
      const over = given.trigger !== 'drained' && (given.volumeMl ?? 0) >= given.limitMl;
      const variables = variablesOf(over ? { ...given, overLimit: 'yes' } : given);
      expect(actions.filter((one) => applies(one, variables)).map((one) => one.prefix)).toEqual([
        advice.row.id,
      ]);
    }
  });

  it('is refused where many tables in which the first row counts follow each other: it would grow to megabytes', () => {
    for (const protocol of starterProtocols.filter((one) => one.id !== 'comfort')) {
      const tables = protocol.tables.map((table) => ({ ...table, hitPolicy: 'FIRST' as const }));
      const plan = planOrRefusal({ protocol: { ...protocol, tables }, zone });
      expect(isRefusal(plan) && plan.code).toBe('fhir/plan-too-large');
      expect(JSON.stringify(planDefinition({ protocol, zone })).length).toBeLessThan(1_000_000);
    }
  });

  it('is a draft and an example until somebody has signed, then active with who and until when', () => {
    const [protocol] = starterProtocols as readonly [CompiledProtocol];
    expect(planDefinition({ protocol, zone })).toMatchObject({
      status: 'draft',
      experimental: true,
      title: `${protocol.title} (example, not approved)`,
    });
    const plan = planDefinition({ protocol, approval: signed, zone });
    expect(plan).toMatchObject({
      status: 'active',
      experimental: false,
      title: protocol.title,
      approvalDate: '2026-10-05',
      effectivePeriod: { start: '2026-10-05', end: '2027-05-03' },
    });
    const retired = planDefinition({ protocol, approval: signed, retired: true, zone });
    expect(retired['status']).toBe('retired');
    expect(faultsOf(retired)).toEqual([]);
    expect(plan['endorser']).toEqual([{ name: 'Ulla Perrin, unit manager' }]);
  });
});
