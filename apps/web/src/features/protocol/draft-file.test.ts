// Proves     a draft saved as DMN and opened again is the same draft, also with edits of every kind of cell; a broken file, one of
//            another setting and one that can't be compiled are refused by name and leave the draft as it was.
import { isRefusal, orThrow } from '@ebbline/core/quantity';
import { starterFor, starterProtocols, type CompiledProtocol } from '@ebbline/protocol';
import { describe, expect, it } from 'vitest';
import { draftFile, draftFromFile } from './draft-file.ts';
import { addRow, deleteRow, draftOf, setTest, setValue, type Draft } from './draft.ts';

const surgery = starterFor('after-surgery') as CompiledProtocol;
const again = async (draft: Draft): Promise<Draft> =>
  orThrow(await draftFromFile(draft, orThrow(await draftFile(draft))));

describe('a draft as a file', () => {
  it.each(starterProtocols.map((one) => [one.id, one] as const))(
    'comes back equal: %s',
    async (_id, protocol) => {
      const draft = draftOf(protocol, protocol.id);
      expect(await again(draft)).toEqual(draft);
    },
  );

  it('comes back equal with cells of every form, texts with quotes, and an empty row', async () => {
    let draft = draftOf(surgery, 'mine');
    const column = surgery.tables.at(-1)?.inputs.indexOf('volumeMl') ?? -1;
    draft = setTest(draft, 'Advice', 'AS-32', column, {
      in: [null, 12.5],
      ranges: [{ from: 20, to: 30, toIn: true }, { from: 400 }],
    });
    draft = setTest(draft, 'Advice', 'AS-19', 2, { not: ['void', 'time'] });
    draft = setValue(draft, 'Advice', 'AS-31', 5, 'Say "wait" & <look>, åæø');
    draft = deleteRow(addRow(draft, 'Limit', 'AS-L03').draft, 'Limit', 'AS-L16');
    expect(await again(draft)).toEqual(draft);
  });

  it('keeps numbers of rows used: a file with a higher one moves the next on', async () => {
    const draft = draftOf(surgery, 'mine');
    const higher = addRow({ ...draft, lastNumber: 76 }, 'Advice').draft;
    const opened = orThrow(await draftFromFile(draft, orThrow(await draftFile(higher))));
    expect(opened.lastNumber).toBe(77);
    expect(addRow(opened, 'Advice').rowId).toBe('AS-78');
  });

  it('refuses by name what is no such draft', async () => {
    const draft = draftOf(surgery, 'mine');
    const code = async (xml: string): Promise<string> => {
      const opened = await draftFromFile(draft, xml);
      return isRefusal(opened) ? opened.code : 'opened';
    };
    const xml = orThrow(await draftFile(draft));
    expect(await code(xml)).toBe('opened');
    expect(await code('')).toBe('protocol/not-dmn');
    expect(await code(xml.slice(0, xml.length / 2))).toBe('protocol/not-dmn');
    expect(await code(xml.replace('decisionTable id', 'decisionTable hitPolicy="COLLECT" id'))).toBe(
      'protocol/not-compilable',
    );
    expect(await code(xml.replaceAll('volumeMl', 'volumeOz'))).toBe('protocol/not-a-protocol');
    const child = draftOf(starterFor('child') as CompiledProtocol, 'child');
    expect(await code(orThrow(await draftFile(child)))).toBe('web/other-setting');
  });
});
