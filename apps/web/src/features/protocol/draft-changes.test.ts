// Proves     what a draft changes is said once for each row: cells, answers, new, deleted and moved rows, and nothing else.
import { describe, expect, it } from 'vitest';
import { changesBetween, type CompiledProtocol, starterProtocols } from '@ebbline/protocol';
import { addRow, deleteRow, draftOf, moveRow, setTest, setValue } from './draft.ts';

const surgery = starterProtocols.find((one) => one.id === 'after-surgery') as CompiledProtocol;
const fresh = draftOf(surgery, 'd');
const words = (draft: typeof fresh) =>
  changesBetween(surgery, draft.protocol).map((one) => `${one.rowId}: ${one.words}`);

describe('changes of a draft', () => {
  it('are none for a fresh draft, and none after a change is taken back by hand', () => {
    expect(words(fresh)).toEqual([]);
    expect(words(setValue(setValue(fresh, 'Advice', 'AS-31', 1, 75), 'Advice', 'AS-31', 1, 90))).toEqual([]);
  });
  it('name each cell with what stood there and what stands there now', () => {
    const draft = setValue(
      setTest(fresh, 'Advice', 'AS-33', 3, { ranges: [{ from: 450 }] }),
      'Advice',
      'AS-33',
      0,
      'look-again',
    );
    expect(words(draft)).toEqual([
      'AS-33: volume, mL: above 400, now above 450; Step: Help to pass urine, then look, now Look again',
    ]);
  });
  it('name new and deleted rows, and do not call their neighbours moved', () => {
    expect(words(deleteRow(addRow(fresh, 'Advice', 'AS-01').draft, 'Advice', 'AS-32'))).toEqual([
      'AS-42: new row',
      'AS-32: deleted',
    ]);
  });
  it('name the two rows that changed places', () => {
    expect(words(moveRow(fresh, 'Advice', 'AS-01', 1))).toEqual(['AS-02: moved', 'AS-01: moved']);
  });
});
