import { controlIsOn, type Refusal } from '@ebbline/core/quantity';
import type { Step } from './advice.ts';
import { budget, mostListed, pairsIn, tooLarge, uncovered, type Budget } from './box-cover.ts';
import { testHolds, type CompiledTable, type Scalar } from './compile-table.ts';
import { chainTrouble } from './chain.ts';
import type { CompiledProtocol } from './compile-protocol.ts';
import type { InputName, ProtocolInput } from './dictionary.ts';
import { boxOfTests, cellOf, onlyPiece, piecesIn, shared, type Box, type InputSpace } from './input-space.ts';
import { worseIsGentler, type Leaf } from './prove-order.ts';
import { patientIn, possiblePatients, protocolSpace, wholePatient } from './reachable.ts';
import {
  adultRowsLaw,
  lawInWords,
  mixesChildren,
  safetyLaws,
  unsoundAnswer,
  type RawAdvice,
  type SafetyLaw,
} from './safety-laws.ts';

export interface Fault {
  readonly kind: 'gap' | 'overlap' | 'unsafe';
  readonly decision: string;
  /** The rows that meet: none for a gap, the one row for an unsafe answer, two where a worse patient gets less. */
  readonly rows: readonly string[];
  /** For an unsafe answer: the law it breaks, in words. */
  readonly law?: string;
  /** For a gap or an overlap: all who share it, one cell per input of the table that matters. */
  readonly cells?: Readonly<Record<string, string>>;
  /** A patient that shows it; what does not matter is left out. */
  readonly patient: Partial<ProtocolInput>;
  /** Where a worse patient gets a gentler step or a later look: in what it got worse. */
  readonly worseIn?: InputName;
  /** Where a worse patient gets a gentler step or a later look: the patient before it got worse. */
  readonly before?: Partial<ProtocolInput>;
}

export interface ProtocolProof {
  /** Each gap, each two rows that meet, each row that breaks a law, once. */
  readonly faults: readonly Fault[];
  /** Rows that no possible patient reaches. */
  readonly unreachableRows: readonly string[];
  /** How many kinds of patient end at different rows, or at the same row by different ways. */
  readonly kinds: number;
  /** Laws that this protocol may break, declared and in words. */
  readonly exceptions: readonly string[];
  /** False when there are more faults than could be listed. */
  readonly whole: boolean;
}

const comfortException =
  'looks end under a signed comfort plan: "the watch can end" is allowed over the limit and with a catheter in place';

interface PreparedTable {
  readonly table: CompiledTable;
  readonly boxes: readonly Box[];
  /** Per column, the decision before it that it asks for; undefined for an input. */
  readonly asks: readonly (string | undefined)[];
}

/**
 * Whether a protocol gives every possible patient exactly one answer, by a chain of tables, never one that a safety
 * law forbids, and never a gentler one to a patient who is worse: exactly, not by sampling. Cells change their mind
 * only at the numbers that the tables name, so those numbers, one value between each two, and "missing" stand for
 * all. Each row is a box of patients; what a row answers goes on to the next table.
 *
 * Domain    protocols of compiled tables over the dictionary; the age bands and settings are the protocol's; the
 *           patients are those that there can be (reachable.ts)
 * Errors    protocol/too-large-to-prove, when no fault was found before the budget ended · protocol/chain-does-not-end
 */
export function proveProtocol(protocol: CompiledProtocol, spend: Budget = budget()): ProtocolProof | Refusal {
  const endless = chainTrouble(protocol.tables);
  if (endless) return endless;
  const space = protocolSpace(protocol);
  const decisions = new Set(protocol.tables.map((table) => table.decision));
  const tables: readonly PreparedTable[] = protocol.tables.map((table) => ({
    table,
    boxes: table.rows.map((row) => boxOfTests(space, table.inputs, row.tests)),
    asks: table.inputs.map((name) => (decisions.has(name) ? name : undefined)),
  }));
  const faults = new Map<string, Fault>();
  const reached = new Set<string>();
  const leaves: Leaf[] = [];
  let whole = true;
  let kinds = 0;

  const report = (key: string, make: () => Fault): void => {
    if (faults.has(key)) return;
    if (faults.size >= mostListed) whole = false;
    else faults.set(key, make());
  };

  const descend = (index: number, within: Box, answers: ReadonlyMap<string, Scalar>): void => {
    const prepared = tables[index];
    if (!prepared || !whole) return;
    const { table, boxes, asks } = prepared;
    const fitting = table.rows.flatMap((row, at) => {
      const fits = row.tests.every((test, column) => {
        const asked = asks[column];
        return asked === undefined || testHolds(test, answers.get(asked) ?? null);
      });
      const region = fits ? shared(space, boxes[at] as Box, within) : undefined;
      return region ? [{ row, region }] : [];
    });
    const regions = fitting.map((one) => one.region);
    spend.left -= regions.length + 1;
    const cells = (box: Box): Readonly<Record<string, string>> => cellsOfTable(space, prepared, answers, box);

    const unique = table.hitPolicy === 'UNIQUE';
    const meeting = unique ? pairsIn(space, within, regions, mostListed) : { pairs: [], whole: true };
    whole &&= meeting.whole;
    const open = uncovered(space, within, regions, spend, mostListed, unique ? meeting : undefined);
    whole &&= open.whole;
    for (const gap of open.gaps) {
      const where = cells(gap);
      report(`gap ${table.decision} ${JSON.stringify(where)}`, () => ({
        kind: 'gap',
        decision: table.decision,
        rows: [],
        cells: where,
        patient: patientIn(space, gap),
      }));
    }
    for (const { a, b, both } of meeting.pairs) {
      const rows = [fitting[a]?.row.id ?? '', fitting[b]?.row.id ?? ''];
      report(`overlap ${table.decision} ${rows.join(' ')}`, () => ({
        kind: 'overlap',
        decision: table.decision,
        rows,
        cells: cells(both),
        patient: patientIn(space, both),
      }));
    }
    for (const [at, { row, region }] of fitting.entries()) {
      const others = unique
        ? meeting.pairs.flatMap(({ a, b, both }) => (a === at || b === at ? [both] : []))
        : regions.slice(0, at);
      // What meets another row, or is taken by a row before it, never gets this row's answer.
      const own =
        others.length === 0 ? { gaps: [region], whole: true } : uncovered(space, region, others, spend);
      whole &&= own.whole;
      for (const box of own.gaps) {
        reached.add(row.id);
        if (index < tables.length - 1)
          descend(index + 1, box, new Map(answers).set(table.decision, row.values[0] ?? null));
        else {
          kinds += 1;
          finish(table, row, box);
        }
      }
    }
  };

  const finish = (table: CompiledTable, row: CompiledTable['rows'][number], box: Box): void => {
    const at = (name: string): Scalar => row.values[table.outputs.indexOf(name)] ?? null;
    const raw: RawAdvice = {
      step: at('step'),
      dueInMin: at('dueInMin'),
      ownerRole: at('ownerRole'),
      why: at('why'),
      noLaterThanMin: at('noLaterThanMin'),
    };
    const unsafe = (law: string, where: Box): void =>
      report(`unsafe ${row.id} ${law}`, () => ({
        kind: 'unsafe',
        decision: table.decision,
        rows: [row.id],
        law,
        patient: patientIn(space, where),
      }));
    const unsound = unsoundAnswer(raw, row.id);
    if (unsound) return unsafe(unsound.allowed, box);
    for (const law of safetyLaws) {
      if (!controlIsOn(law.id)) continue;
      const where = brokenIn(protocol, space, law, raw.step as Step, Number(raw.dueInMin), box);
      if (where) unsafe(lawInWords(law), where);
    }
    if (controlIsOn('adult-rows-only') && mixesChildren(protocol.ageBands)) {
      const age = space.names.indexOf('ageBand');
      const child = piecesIn(space, box, age).find((piece) => space.values[age]?.[piece] === 'child');
      if (child !== undefined) unsafe(adultRowsLaw, onlyPiece(space, box, age, child));
    }
    leaves.push({ rowId: row.id, step: raw.step as Step, dueInMin: Number(raw.dueInMin), box });
  };

  for (const box of possiblePatients(space)) descend(0, box, new Map());
  const order = worseIsGentler(space, leaves, spend);
  whole &&= order.whole;
  for (const { milder, worse, law, worseIn } of order.faults)
    report(`unsafe ${milder.rowId} ${worse.rowId} ${law}`, () => ({
      kind: 'unsafe',
      decision: protocol.tables.at(-1)?.decision ?? '',
      rows: [milder.rowId, worse.rowId],
      law,
      worseIn,
      patient: patientIn(space, worse.box),
      before: patientIn(space, milder.box),
    }));
  if (!whole && faults.size === 0) return tooLarge(protocol.title);
  const all = protocol.tables.flatMap((table) => table.rows.map((row) => row.id));
  return {
    faults: [...faults.values()],
    unreachableRows: all.filter((id) => !reached.has(id)),
    kinds,
    exceptions: protocol.settings.includes('comfort') ? [comfortException] : [],
    whole,
  };
}

/** Where in a box a step breaks a law; every combination of the few inputs that the law asks for is tried. */
function brokenIn(
  protocol: CompiledProtocol,
  space: InputSpace,
  law: SafetyLaw,
  step: Step,
  dueInMin: number,
  box: Box,
): Box | undefined {
  const patient: Record<string, unknown> = { ...wholePatient(protocol, {}) };
  const tryFrom = (index: number): Box | undefined => {
    const name = law.asks[index];
    if (name === undefined)
      return law.broken(patient as unknown as ProtocolInput, step, dueInMin) ? box : undefined;
    const input = space.names.indexOf(name);
    const values = space.values[input] ?? [];
    // Of a number a law asks only whether it is there, so that one number stands for all.
    const pieces = piecesIn(space, box, input).filter(
      (piece, at) => at === 0 || typeof values[piece] !== 'number',
    );
    for (const piece of pieces) {
      patient[name] = values[piece] ?? undefined;
      const found = tryFrom(index + 1);
      if (found) return onlyPiece(space, found, input, piece);
    }
    return undefined;
  };
  return tryFrom(0);
}

/** The cells of a table's own columns for a box of patients, with the answers of the tables before it. */
function cellsOfTable(
  space: InputSpace,
  { table, asks }: PreparedTable,
  answers: ReadonlyMap<string, Scalar>,
  box: Box,
): Readonly<Record<string, string>> {
  const cells: Record<string, string> = {};
  for (const [column, name] of table.inputs.entries()) {
    const asked = asks[column];
    if (asked !== undefined) {
      cells[name] = JSON.stringify(answers.get(asked) ?? null);
      continue;
    }
    const cell = cellOf(space, box, space.names.indexOf(name as InputName));
    if (cell !== '-') cells[name] = cell;
  }
  return cells;
}
