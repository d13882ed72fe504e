// Proves     steps of an edit keep what was there exactly; a row's id is given once; what is kept on the tablet comes back whole.
import { describe, expect, it } from 'vitest';
import { starterProtocols, type CompiledProtocol } from '@ebbline/protocol';
import {
  addRow,
  deleteRow,
  draftOf,
  moveRow,
  redo,
  setTest,
  setValue,
  startHistory,
  step,
  undo,
} from './draft.ts';
import { draftKept, draftsKept, forgetDraft, keepDraft, type Shelf } from './draft-store.ts';

const surgery = starterProtocols.find((one) => one.id === 'after-surgery') as CompiledProtocol;
const fresh = draftOf(surgery, 'd');
const advice = (draft: typeof fresh) => draft.protocol.tables.at(-1)?.rows ?? [];

/** A tablet's shelf in memory; `full` refuses to keep anything. */
function shelf(full = false): Shelf {
  const kept = new Map<string, string>();
  return {
    getItem: (key) => kept.get(key) ?? null,
    setItem: (key, value) => {
      if (full) throw new Error('quota');
      kept.set(key, value);
    },
    removeItem: (key) => void kept.delete(key),
    key: (at) => [...kept.keys()][at] ?? null,
    get length() {
      return kept.size;
    },
  };
}

describe('a draft', () => {
  it('is of the next version and never approved, whatever it was made from', () => {
    const signed: CompiledProtocol = {
      ...surgery,
      approval: {
        signedBy: 'Ana Quillon',
        role: 'specialist-nurse',
        on: '2026-05-01',
        reviewBy: '2027-05-01',
      },
    };
    const draft = draftOf(signed, 'd');
    expect(draft.protocol.approval).toBe('example-not-approved');
    expect(draft.protocol.version).toBe(surgery.version + 1);
    expect(draft.protocol.tables).toBe(surgery.tables);
  });
  it('changes one cell and leaves every other row the same object', () => {
    const next = setTest(setValue(fresh, 'Advice', 'AS-31', 1, 75), 'Advice', 'AS-31', 3, {
      ranges: [{ to: 300 }],
    });
    const at = advice(fresh).findIndex((row) => row.id === 'AS-31');
    expect(advice(next)[at]?.values[1]).toBe(75);
    expect(advice(next)[at]?.tests[3]).toEqual({ ranges: [{ to: 300 }] });
    expect(advice(next).filter((row, index) => row !== advice(fresh)[index])).toHaveLength(1);
    expect(next.protocol.tables[0]).toBe(fresh.protocol.tables[0]);
  });
  it('adds a row below another that asks anything and answers nothing', () => {
    const { draft, rowId } = addRow(fresh, 'Advice', 'AS-31', { volumeMl: { in: [null] } });
    const at = advice(draft).findIndex((row) => row.id === rowId);
    expect(advice(draft)[at - 1]?.id).toBe('AS-31');
    expect(advice(draft)[at]?.tests.filter((test) => test !== 0)).toEqual([{ in: [null] }]);
    expect(advice(draft)[at]?.values.filter((value) => value !== null)).toEqual(['unit choice']);
  });
  it('never gives a row the name of one that was there, deleted or undone', () => {
    const one = addRow(fresh, 'Advice');
    const without = deleteRow(one.draft, 'Advice', one.rowId);
    expect([one.rowId, addRow(without, 'Danger').rowId]).toEqual(['AS-42', 'AS-D43']);
    const undone = undo(step(startHistory(fresh), one.draft));
    expect(addRow(undone.now, 'Advice').rowId).not.toBe(one.rowId);
    const all = fresh.protocol.tables.flatMap((table) => table.rows.map((row) => row.id));
    expect(all).not.toContain(one.rowId);
  });
  it('moves a row by one place and not past the ends', () => {
    const ids = advice(moveRow(fresh, 'Advice', 'AS-01', 1)).map((row) => row.id);
    expect(ids.slice(0, 2)).toEqual(['AS-02', 'AS-01']);
    expect(moveRow(fresh, 'Advice', 'AS-01', -1)).toBe(fresh);
  });
  it('goes back and forth through its steps, and forgets what was undone after a new one', () => {
    const one = setValue(fresh, 'Advice', 'AS-31', 1, 75);
    const two = setValue(one, 'Advice', 'AS-31', 1, 60);
    const history = step(step(startHistory(fresh), one), two);
    expect(undo(undo(history)).now.protocol).toBe(fresh.protocol);
    expect(redo(undo(history)).now).toBe(two);
    expect(undo(startHistory(fresh)).now).toBe(fresh);
    const other = step(undo(history), setValue(one, 'Advice', 'AS-31', 1, 45));
    expect(redo(other)).toBe(other);
  });
});

describe('drafts on the tablet', () => {
  it('come back whole, for their author alone', () => {
    const place = shelf();
    expect(keepDraft('ana', fresh, place)).toBe(true);
    expect(draftKept('ana', 'd', place)).toEqual(fresh);
    expect(draftKept('tove', 'd', place)).toBeUndefined();
    expect(draftsKept('ana', place)).toEqual([fresh]);
    expect(draftsKept('an', place)).toEqual([]);
    forgetDraft('ana', 'd', place);
    expect(draftsKept('ana', place)).toEqual([]);
  });
  it('say when the tablet is full, and leave out what does not read', () => {
    expect(keepDraft('ana', fresh, shelf(true))).toBe(false);
    const place = shelf();
    keepDraft('ana', fresh, place);
    place.setItem(place.key(0) ?? '', '{"id": "d"');
    expect(draftKept('ana', 'd', place)).toBeUndefined();
  });
});
