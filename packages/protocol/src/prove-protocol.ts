import { testHolds, type CompiledTable, type Scalar } from './compile-table.ts';
import type { CompiledProtocol } from './compile-protocol.ts';
import { dictionary, inputNames, type InputName, type ProtocolInput } from './dictionary.ts';
import { brokenLaw } from './safety-laws.ts';

export interface Fault {
  readonly kind: 'gap' | 'overlap' | 'unsafe';
  readonly decision: string;
  /** The rows that meet: none for a gap, the one row for an unsafe answer. */
  readonly rows: readonly string[];
  /** For an unsafe answer: the law it breaks, in words. */
  readonly law?: string;
  /** A patient that shows it; what does not matter is left out. */
  readonly patient: Partial<ProtocolInput>;
}

export interface ProtocolProof {
  /** One fault of each kind for each row or set of rows. */
  readonly faults: readonly Fault[];
  /** Rows that no possible patient reaches. */
  readonly unreachableRows: readonly string[];
  /** How many kinds of patient were told apart. */
  readonly kinds: number;
}

/** Inputs that the safety laws look at; their values are never taken together. */
const lawInputs: readonly InputName[] = [
  'trigger',
  'volumeMl',
  'discomfort',
  'redFlag',
  'overLimit',
  'doNotDrain',
  'catheterInPlace',
  'trust',
];

type Assigned = Map<InputName, Scalar>;

/**
 * Whether a protocol gives every possible patient exactly one answer, by a chain of tables, and never one that a
 * safety law forbids: exactly, by cases, not by sampling. Cells change their mind only at the numbers that the
 * tables name, so those numbers, one value between each two, and "missing" stand for all. An input is split only
 * where a row still asks for it.
 *
 * Domain    protocols of compiled tables over the dictionary; the age bands are the protocol's
 * Knows     that a volume comes with the kinds "exact" and "at-least" and with no other
 */
export function proveProtocol(protocol: CompiledProtocol): ProtocolProof {
  const { tables } = protocol;
  const values = new Map<InputName, readonly Scalar[]>(
    inputNames.map((name) => [name, kindsOf(tables, name, protocol)]),
  );
  const faults = new Map<string, Fault>();
  const reached = new Set<string>();
  let kinds = 0;

  const report = (fault: Omit<Fault, 'patient'>, assigned: Assigned): void => {
    const key = `${fault.kind} ${fault.decision} ${fault.rows.join(' ')} ${fault.law ?? ''}`;
    if (!faults.has(key)) faults.set(key, { ...fault, patient: patientOf(assigned) });
  };

  const finish = (table: CompiledTable, row: CompiledTable['rows'][number], assigned: Assigned): void => {
    const at = (name: string): Scalar => row.values[table.outputs.indexOf(name)] ?? null;
    const raw = {
      step: at('step'),
      dueInMin: at('dueInMin'),
      ownerRole: at('ownerRole'),
      why: at('why'),
      noLaterThanMin: at('noLaterThanMin'),
    };
    const open = lawInputs.filter((name) => !assigned.has(name));
    const tryAll = (index: number): void => {
      const name = open[index];
      if (name === undefined) {
        if (!possible(assigned)) return;
        const refusal = brokenLaw(fullPatient(assigned), raw, row.id);
        if (refusal)
          report(
            { kind: 'unsafe', decision: table.decision, rows: [row.id], law: refusal.allowed },
            assigned,
          );
        return;
      }
      for (const value of values.get(name) ?? []) {
        assigned.set(name, value);
        tryAll(index + 1);
      }
      assigned.delete(name);
    };
    tryAll(0);
  };

  const descend = (
    index: number,
    column: number,
    rows: CompiledTable['rows'],
    assigned: Assigned,
    answers: ReadonlyMap<string, Scalar>,
  ): void => {
    const table = tables[index];
    if (!table) return;
    const name = table.inputs[column];
    if (name === undefined || rows.length === 0) {
      const [first] = rows;
      if (!first || (rows.length > 1 && table.hitPolicy === 'UNIQUE')) {
        kinds += 1;
        report(
          { kind: first ? 'overlap' : 'gap', decision: table.decision, rows: rows.map((row) => row.id) },
          assigned,
        );
        return;
      }
      reached.add(first.id);
      if (index < tables.length - 1)
        return descend(
          index + 1,
          0,
          tables[index + 1]?.rows ?? [],
          assigned,
          new Map(answers).set(table.decision, first.values[0] ?? null),
        );
      kinds += 1;
      return finish(table, first, assigned);
    }
    const keep = (value: Scalar): CompiledTable['rows'] =>
      rows.filter((row) => testHolds(row.tests[column] ?? 0, value));
    if (rows.every((row) => row.tests[column] === 0))
      return descend(index, column + 1, rows, assigned, answers);
    if (answers.has(name))
      return descend(index, column + 1, keep(answers.get(name) ?? null), assigned, answers);
    const input = name as InputName;
    if (assigned.has(input))
      return descend(index, column + 1, keep(assigned.get(input) ?? null), assigned, answers);
    for (const value of values.get(input) ?? []) {
      assigned.set(input, value);
      if (possible(assigned)) descend(index, column + 1, keep(value), assigned, answers);
    }
    assigned.delete(input);
  };
  descend(0, 0, tables[0]?.rows ?? [], new Map(), new Map());
  const all = tables.flatMap((table) => table.rows.map((row) => row.id));
  return { faults: [...faults.values()], unreachableRows: all.filter((id) => !reached.has(id)), kinds };
}

/** False for what cannot be: a kind of volume without its number, or a number without its kind. */
function possible(assigned: Assigned): boolean {
  const kind = assigned.get('volumeKind');
  const volume = assigned.get('volumeMl');
  if (kind === undefined || volume === undefined) return true;
  return (kind === 'exact' || kind === 'at-least') === (volume !== null);
}

/** The values of an input that the tables or the laws can tell apart, one for each kind. */
function kindsOf(
  tables: readonly CompiledTable[],
  name: InputName,
  protocol: CompiledProtocol,
): readonly Scalar[] {
  const entry = dictionary[name];
  const tests = tables.flatMap((table) => {
    const column = table.inputs.indexOf(name);
    return column < 0 ? [] : table.rows.map((row) => row.tests[column] ?? 0);
  });
  const missing: readonly Scalar[] = entry.optional ? [null] : [];
  const all: Scalar[] = [];
  if (entry.kind === 'flag') all.push(false, true, ...missing);
  else if (entry.kind === 'choice')
    all.push(...(name === 'ageBand' ? protocol.ageBands : (entry.options ?? [])), ...missing);
  else {
    const { min = 0, max = 0 } = entry;
    const ends = new Set([min, max]);
    for (const test of tests) {
      if (test === 0 || 'not' in test) continue;
      for (const value of test.in ?? []) if (typeof value === 'number') ends.add(value);
      for (const range of test.ranges ?? [])
        for (const end of [range.from, range.to]) if (end !== undefined) ends.add(end);
    }
    const sorted = [...ends].filter((end) => end >= min && end <= max).sort((a, b) => a - b);
    all.push(
      ...sorted,
      ...sorted.slice(1).map((end, index) => (end + (sorted[index] ?? end)) / 2),
      ...missing,
    );
  }
  if (entry.kind !== 'number' && lawInputs.includes(name)) return all;
  const seen = new Set<string>();
  return all.filter((value) => {
    const signature = `${value === null} ${tests.map((test) => Number(testHolds(test, value))).join('')}`;
    return !seen.has(signature) && seen.add(signature);
  });
}

function patientOf(assigned: Assigned): Partial<ProtocolInput> {
  return Object.fromEntries([...assigned].filter(([, value]) => value !== null)) as Partial<ProtocolInput>;
}

/** A whole patient for the laws: what is not assigned is as harmless as can be. */
function fullPatient(assigned: Assigned): ProtocolInput {
  const harmless: ProtocolInput = {
    trigger: 'reading',
    setting: 'after-surgery',
    volumeKind: 'exact',
    relation: 'unknown',
    discomfort: false,
    redFlag: 'none',
    residualLate: false,
    looksSoFar: 0,
    drainsSoFar: 0,
    voidsSoFar: 0,
    lowResidualsInARow: 0,
    ageBand: 'adult',
    limitMl: 500,
    overLimit: 'no',
    doNotDrain: 'none',
    catheterInPlace: false,
    trust: 'good',
  };
  return { ...harmless, ...patientOf(assigned) };
}
