// Proves     every cell that ships goes into its form and comes back the same; what does not fit is said in words; a fault's cells
//            make a row, and its patient reads as words.
import { describe, expect, it } from 'vitest';
import { isRefusal } from '@ebbline/core/quantity';
import {
  cellsOfFault,
  type CompiledProtocol,
  faultWords,
  patientSentence,
  proveProtocol,
  starterProtocols,
  testHolds,
} from '@ebbline/protocol';
import { answerTyped } from './answer-dialog.tsx';
import { columnKind, numberCell, numberTest, wordsCell, wordsTest, type ColumnKind } from './cell-model.ts';
import { addRow, deleteRow, draftOf, setTest, setValue } from './draft.ts';
import { tryPatient, typedOf } from './try-model.ts';

const surgery = starterProtocols.find((one) => one.id === 'after-surgery') as CompiledProtocol;
const volume = columnKind(surgery, 'volumeMl') as Extract<ColumnKind, { kind: 'number' }>;
const stretch = (from: string, to: string, fromIn = true, toIn = false) =>
  numberTest({ any: false, unknown: false, stretches: [{ from, to, fromIn, toIn }] }, volume);

describe('a cell as a form', () => {
  it('comes back as it was, for every cell that ships', () => {
    for (const protocol of starterProtocols)
      for (const table of protocol.tables)
        for (const row of table.rows)
          for (const [at, test] of row.tests.entries()) {
            const column = columnKind(protocol, table.inputs[at] ?? '');
            const back =
              column.kind === 'number' ? numberTest(numberCell(test), column) : wordsTest(wordsCell(test));
            expect(back, `${row.id} ${table.inputs[at]}`).toEqual(test);
          }
  });
  it('takes a decimal comma, open ends and a single number', () => {
    expect(stretch('250,5', '400', true, true)).toEqual({
      ranges: [{ from: 250.5, fromIn: true, to: 400, toIn: true }],
    });
    expect(stretch('', '250')).toEqual({ ranges: [{ to: 250 }] });
    const single = stretch('400', '400', true, true);
    expect(typeof single === 'object' && testHolds(single, 400) && !testHolds(single, 401)).toBe(true);
  });
  it('says in words what keeps it from being a test', () => {
    expect(stretch('four', '')).toContain('“four” does not fit');
    expect(stretch('9000', '')).toContain('from 0 to 5000 mL');
    expect(stretch('400', '250')).toContain('lower one first');
    expect(stretch('400', '400')).toContain('Nothing lies between');
    expect(stretch('', '')).toContain('Anything');
    expect(wordsTest({ mode: 'in', chosen: [] })).toContain('at least one');
    expect(answerTyped('dueInMin', '12.5')).toHaveProperty('fault');
    expect(answerTyped('dueInMin', '-1')).toHaveProperty('fault');
    expect(answerTyped('dueInMin', '90')).toEqual({ value: 90 });
    expect(answerTyped('why', '  ')).toEqual({ value: null });
  });
  it('offers the answers of the table before as words', () => {
    expect(columnKind(surgery, 'Limit')).toMatchObject({ kind: 'words' });
    const { options } = columnKind(surgery, 'Limit') as Extract<ColumnKind, { kind: 'words' }>;
    expect(options).toContain('near');
    expect(new Set(options).size).toBe(options.length);
  });
});

describe('what the proof found', () => {
  it('puts a deleted arm back as a row that only wants its answer', () => {
    const draft = deleteRow(draftOf(surgery, 'd'), 'Advice', 'AS-32');
    const proof = proveProtocol(draft.protocol);
    const [gap] = isRefusal(proof) ? [] : proof.faults;
    if (!gap) throw new Error('a deleted arm leaves a hole');
    expect(faultWords(gap, draft.protocol).title).toContain('No row for: volume from 250 to 400 mL; ');
    const { draft: unfinished, rowId } = addRow(draft, 'Advice', undefined, cellsOfFault(gap));
    let next = unfinished;
    const unfilled = proveProtocol(unfinished.protocol);
    const words = isRefusal(unfilled)
      ? []
      : unfilled.faults.map((fault) => faultWords(fault, unfinished.protocol).title);
    expect(words).toContain(`Row ${rowId} has no step yet.`);
    for (const [column, value] of [
      [0, 'promote-voiding'],
      [1, 60],
      [2, 'nurse'],
      [4, 'As before.'],
    ] as const)
      next = setValue(next, 'Advice', rowId, column, value);
    const filled = proveProtocol(next.protocol);
    expect(isRefusal(filled) ? filled : filled.faults).toEqual([]);
  });
  it('shows a patient who really has two rows when 400 stands twice', () => {
    const draft = setTest(draftOf(surgery, 'd'), 'Advice', 'AS-33', 3, {
      ranges: [{ from: 400, fromIn: true }],
    });
    const proof = proveProtocol(draft.protocol);
    const [overlap] = isRefusal(proof) ? [] : proof.faults;
    expect(overlap?.kind).toBe('overlap');
    const tried = tryPatient(draft.protocol, typedOf(draft.protocol, overlap?.patient ?? {}));
    expect(isRefusal(tried.answer) && tried.answer.code).toBe('protocol/two-rows');
    expect(patientSentence(overlap?.patient ?? {})).toMatch(/^400 mL/);
  });
  it('says a patient in words without a comparison sign or a name of the program', () => {
    expect(
      patientSentence({ volumeMl: 420, volumeKind: 'at-least', discomfort: true, overLimit: 'yes' }),
    ).toBe('at least 420 mL, in discomfort, at or over the limit');
    expect(patientSentence({})).toBe('any patient');
  });
});
