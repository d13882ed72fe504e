import type { CompiledProtocol } from '../compile-protocol.ts';
import type { CompiledRange, CompiledTable, CompiledTest, Scalar } from '../compile-table.ts';
import { dictionary, type InputName } from '../dictionary.ts';
import type { DmnDecision, DmnModel, DmnType } from '../model.ts';

/** A model without its expression engine: what can be written and compared, not run. */
export type WrittenModel = Omit<DmnModel, 'feel'>;

const isInput = (name: string): name is InputName => Object.hasOwn(dictionary, name);
const written = (value: Scalar): string => JSON.stringify(value);

function rangeText({ from, fromIn, to, toIn }: CompiledRange): string {
  if (from === undefined) return `${toIn ? '<=' : '<'} ${to}`;
  if (to === undefined) return `${fromIn ? '>=' : '>'} ${from}`;
  return `${fromIn ? '[' : '('}${from}..${to}${toIn ? ']' : ')'}`;
}

/** One cell as FEEL unary tests; `compileTest` reads it back as the same cell. */
export function testText(test: CompiledTest): string {
  if (test === 0) return '-';
  if ('not' in test) return `not(${test.not.map(written).join(', ')})`;
  return [...(test.in ?? []).map(written), ...(test.ranges ?? []).map(rangeText)].join(', ');
}

const typeNameOf = (name: InputName): string =>
  dictionary[name].kind === 'number' ? 'number' : dictionary[name].kind === 'flag' ? 'boolean' : `t_${name}`;

function typesOf(names: readonly InputName[]): readonly DmnType[] {
  return names.flatMap((name): readonly DmnType[] => {
    const { kind, options } = dictionary[name];
    return kind === 'choice'
      ? [
          {
            name: typeNameOf(name),
            typeRef: 'string',
            isCollection: false,
            allowed: (options ?? []).map(written).join(', '),
            components: [],
          },
        ]
      : [];
  });
}

/** What an answer column holds, by its first value. */
function outputType(table: CompiledTable, column: number): string {
  const value = table.rows.map((row) => row.values[column]).find((one) => one !== null && one !== undefined);
  return typeof value === 'number' ? 'number' : typeof value === 'boolean' ? 'boolean' : 'string';
}

function decisionOf(table: CompiledTable, decisions: ReadonlySet<string>): DmnDecision {
  const id = (name: string): string => `decision_${name}`;
  return {
    id: id(table.decision),
    name: table.decision,
    needsDecisions: table.inputs.filter((name) => decisions.has(name)).map(id),
    needsInputs: table.inputs.filter(isInput).map((name) => `input_${name}`),
    logic: {
      kind: 'table',
      hitPolicy: table.hitPolicy,
      inputs: table.inputs.map((name) => ({
        label: '',
        expression: name,
        typeRef: isInput(name) ? typeNameOf(name) : 'string',
      })),
      outputs: table.outputs.map((name, column) => ({ name, typeRef: outputType(table, column) })),
      rows: table.rows.map((row) => ({
        id: row.id,
        tests: row.tests.map(testText),
        values: row.values.map((value) => (value === null ? '' : written(value))),
      })),
    },
  };
}

/**
 * A compiled protocol as a decision model, to be written as a file that any DMN editor opens. Compiled again it is the
 * same protocol; remarks and labels of the file that it once came from are not in it.
 */
export function modelOf(protocol: CompiledProtocol): WrittenModel {
  const decisions = new Set(protocol.tables.map((table) => table.decision));
  const names = [...new Set(protocol.tables.flatMap((table) => table.inputs.filter(isInput)))].sort();
  return {
    id: protocol.id,
    name: protocol.title,
    namespace: `urn:ebbline:protocol:${protocol.id}`,
    types: typesOf(names),
    inputs: names.map((name) => ({
      id: `input_${name}`,
      name,
      about: dictionary[name].sentence,
      typeRef: typeNameOf(name),
    })),
    decisions: protocol.tables.map((table) => decisionOf(table, decisions)),
    protocol: {
      version: String(protocol.version),
      settings: protocol.settings.join(' '),
      ageBands: protocol.ageBands.join(' '),
      lowResidualBelowMl: String(protocol.lowResidualBelowMl),
      lowResidualsToEnd: String(protocol.lowResidualsToEnd),
    },
  };
}
