import { isRefusal, refuse, type Refusal } from '@ebbline/core/quantity';
import { answerTable, testHolds, type CompiledTest, type Scalar } from './compile-table.ts';
import type { CompiledProtocol } from './compile-protocol.ts';
import { dictionary, type InputName, type ProtocolInput } from './dictionary.ts';
import { piecesOf } from './input-space.ts';
import { brokenLaw, rawOf } from './safety-laws.ts';
import type { Step } from './advice.ts';

/** A stretch of one input over which no answer of the map changes: one test that holds for all of it. */
export interface MapBand {
  readonly test: CompiledTest;
}

/** What one cell of the map answers, for everybody in it. */
export type MapCell =
  | { readonly kind: 'step'; readonly step: Step; readonly dueInMin: number; readonly rowId: string }
  | { readonly kind: 'hole'; readonly decision: string }
  | { readonly kind: 'overlap'; readonly decision: string; readonly rows: readonly string[] }
  /** A row answers, and a law forbids the answer. */
  | { readonly kind: 'unsafe'; readonly rowId: string; readonly law: string };

export interface StepMap {
  readonly across: InputName;
  readonly down: InputName;
  readonly columns: readonly MapBand[];
  readonly rows: readonly MapBand[];
  /** One list per row band, one cell per column band. */
  readonly cells: readonly (readonly MapCell[])[];
}

/**
 * What a protocol answers over two of its inputs while all others stay as they are in one patient. Exact: both inputs are
 * cut where the tables cut them, and for the volume at the patient's limit, so that each piece has one answer for all its
 * values, single numbers too; neighbours with the same answers are joined.
 *
 * Domain    inputs of the dictionary, two different ones; the others from `patient`. Not the volume beside the limit: whether
 *           one is above the other is no matter of boxes
 * Errors    protocol/map-inputs
 * Source    none; boxes as in the proof (input-space.ts)
 */
export function stepMap(
  protocol: CompiledProtocol,
  across: InputName,
  down: InputName,
  patient: ProtocolInput,
): StepMap | Refusal {
  const both = [across, down];
  if (across === down || (both.includes('volumeMl') && both.includes('limitMl')))
    return refuse('protocol/map-inputs', {
      asked: 'Map',
      found: `${across} and ${down}`,
      allowed: 'two different inputs, not the volume beside the limit',
      todo: 'Choose another input for one of the two sides.',
    });
  const columnPieces = piecesFor(protocol, across, patient);
  const rowPieces = piecesFor(protocol, down, patient);
  const cells = rowPieces.map((downValue) =>
    columnPieces.map((acrossValue) =>
      cellOf(
        protocol,
        withVolumeKind({ ...patient, [across]: acrossValue, [down]: downValue }, across, down),
      ),
    ),
  );
  const key = (list: readonly MapCell[]): string => JSON.stringify(list);
  const columnGroups = grouped(
    columnPieces.map((_piece, at) => key(cells.map((row) => row[at] as MapCell))),
    columnPieces,
  );
  const rowGroups = grouped(cells.map(key), rowPieces);
  return {
    across,
    down,
    columns: columnGroups.map((group) => ({ test: testOf(across, columnPieces, group) })),
    rows: rowGroups.map((group) => ({ test: testOf(down, rowPieces, group) })),
    cells: rowGroups.map(([row = 0]) => columnGroups.map(([column = 0]) => cells[row]?.[column] as MapCell)),
  };
}

/** The pieces into which the tables cut an input; the volume at the limit too, where a patient comes to be over it. */
function piecesFor(protocol: CompiledProtocol, name: InputName, patient: ProtocolInput): readonly Scalar[] {
  if (name === 'ageBand') return protocol.ageBands;
  if (name === 'setting') return protocol.settings;
  const tests = protocol.tables.flatMap((table) =>
    table.rows.flatMap((row) => row.tests.filter((_test, column) => table.inputs[column] === name)),
  );
  const limit: readonly CompiledTest[] =
    name === 'volumeMl'
      ? [{ in: [patient.limitMl] }]
      : name === 'limitMl' && patient.volumeMl !== undefined
        ? [{ in: [patient.volumeMl] }]
        : [];
  return piecesOf(name, [...tests, ...limit]);
}

/** A volume and its kind come together; a kind that was chosen as an axis stands. */
function withVolumeKind(
  patient: Readonly<Record<string, unknown>>,
  across: InputName,
  down: InputName,
): Readonly<Record<string, unknown>> {
  if ((across !== 'volumeMl' && down !== 'volumeMl') || across === 'volumeKind' || down === 'volumeKind')
    return patient;
  const has = patient['volumeMl'] !== null && patient['volumeMl'] !== undefined;
  const kind = patient['volumeKind'];
  const numbered = kind === 'exact' || kind === 'at-least';
  return has === numbered ? patient : { ...patient, volumeKind: has ? 'exact' : 'missing' };
}

/** Walks the chain as an answer does, and says where it stops. */
function cellOf(protocol: CompiledProtocol, patient: Readonly<Record<string, unknown>>): MapCell {
  const atLimit =
    patient['trigger'] !== 'drained' &&
    typeof patient['volumeMl'] === 'number' &&
    patient['volumeMl'] >= Number(patient['limitMl']);
  const context: Record<string, unknown> = { ...patient, ...(atLimit ? { overLimit: 'yes' } : {}) };
  const input = Object.fromEntries(
    Object.entries(context).filter(([, value]) => value !== null),
  ) as unknown as ProtocolInput;
  for (const table of protocol.tables) {
    const answer = answerTable(table, context);
    if (isRefusal(answer)) {
      if (answer.code === 'protocol/no-row') return { kind: 'hole', decision: table.decision };
      const rows = table.rows.filter((row) =>
        row.tests.every((test, column) =>
          testHolds(test, (context[table.inputs[column] ?? ''] ?? null) as Scalar),
        ),
      );
      return { kind: 'overlap', decision: table.decision, rows: rows.map((row) => row.id) };
    }
    if (table !== protocol.tables.at(-1)) {
      context[table.decision] = answer.values[table.outputs[0] ?? ''] ?? null;
      continue;
    }
    const { values, rowId } = answer;
    const unsafe = brokenLaw(input, rawOf(values), rowId);
    if (unsafe) return { kind: 'unsafe', rowId, law: unsafe.allowed.replace(/ \[[a-z-]+\]$/, '') };
    return { kind: 'step', step: values['step'] as Step, dueInMin: Number(values['dueInMin']), rowId };
  }
  return { kind: 'hole', decision: '' };
}

/** Indexes of neighbours that have the same key. */
function grouped(keys: readonly string[], pieces: readonly Scalar[]): readonly (readonly number[])[] {
  const groups: number[][] = [];
  for (const [at, key] of keys.entries()) {
    const last = groups.at(-1);
    const joins = last !== undefined && keys[last[0] ?? 0] === key;
    // "Not known" stands apart from numbers even where it gets the same answer: it is no end of a range.
    if (joins && pieces[at] !== null) last.push(at);
    else groups.push([at]);
  }
  return groups;
}

/** The test that holds for exactly these pieces. Of numbers, the named ones stand at even places, stretches between at odd. */
function testOf(name: InputName, pieces: readonly Scalar[], group: readonly number[]): CompiledTest {
  if (group.length === pieces.length) return 0;
  const values = group.map((at) => pieces[at] ?? null);
  if (dictionary[name].kind !== 'number' || values.includes(null)) return { in: values };
  const [from = 0, to = 0] = [group[0], group.at(-1)];
  if (from === to && from % 2 === 0) return { in: [pieces[from] ?? null] };
  const { min } = dictionary[name];
  const low = Number(pieces[from % 2 === 0 ? from : from - 1]);
  const high = Number(pieces[to % 2 === 0 ? to : to + 1]);
  const reachesTop = to >= pieces.filter((piece) => piece !== null).length - 1;
  const reachesBottom = from === 0 && low === min;
  const lower = { from: low, ...(from % 2 === 0 ? { fromIn: true as const } : {}) };
  const upper = { to: high, ...(to % 2 === 0 ? { toIn: true as const } : {}) };
  // An end of the input itself is no end that anybody has to read.
  return {
    ranges: [{ ...(reachesBottom && !reachesTop ? {} : lower), ...(reachesTop ? {} : upper) }],
  };
}
