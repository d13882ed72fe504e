// Proves     two versions of a protocol differ exactly by what was changed, said by row id and column; another layout
//            of the file, or another order of rows that exclude each other, is no difference. Tolerance exact.
import { readFileSync } from 'node:fs';
import { orThrow } from '@ebbline/core/quantity';
import { describe, expect, it } from 'vitest';
import { diffModels } from './diff-protocol.ts';
import type { DmnModel } from './model.ts';
import { readDmn } from './read-dmn.ts';
import { writeDmn } from './write-dmn.ts';

const text = readFileSync(new URL('starter/after-surgery.dmn', import.meta.url), 'utf8');
const model = async (xml: string): Promise<DmnModel> => orThrow(await readDmn(xml));
const sentences = async (change: (xml: string) => string): Promise<readonly string[]> =>
  diffModels(await model(text), await model(change(text))).map((one) => one.sentence);
const row = (id: string): string => new RegExp(`<rule id="${id}">[\\s\\S]*?</rule>`).exec(text)?.[0] ?? '';

describe('the difference between two versions', () => {
  it('is none for the same content, written anew or in another order of rows that exclude each other', async () => {
    const written = orThrow(await writeDmn(await model(text)));
    expect(diffModels(await model(text), await model(written))).toEqual([]);
    expect(
      await sentences((xml) =>
        xml.replace(row('AS-31'), '').replace(row('AS-33'), row('AS-33') + row('AS-31')),
      ),
    ).toEqual([]);
  });
  it('names a moved limit, a changed answer, a new version', async () => {
    const changed = await sentences((xml) =>
      xml
        .replace('<text>null, &lt; 250</text>', '<text>null, &lt; 300</text>')
        .replace('id="AS-31_o2"><text>90</text>', 'id="AS-31_o2"><text>60</text>')
        .replace('version="1"', 'version="2"'),
    );
    expect(changed).toEqual([
      'version: 1 is now 2.',
      'Row AS-31: volumeMl null, < 250 is now null, < 300.',
      'Row AS-31: answer dueInMin 90 is now 60.',
    ]);
  });
  it('names a row taken away and a new one, with what they say', async () => {
    const [lost, ...rest] = await sentences((xml) =>
      xml.replace(row('AS-L01'), row('AS-L01').replaceAll('AS-L01', 'AS-L77')),
    );
    expect(lost).toBe(
      'Row AS-L01 was taken away: if Number "read-much-drained-little", then Limit "read-much-drained-little".',
    );
    expect(rest).toEqual([
      'Row AS-L77 is new: if Number "read-much-drained-little", then Limit "read-much-drained-little".',
    ]);
  });
  it('says another order of rows where the first that fits answers', async () => {
    const first = text.replace('id="table_Limit" hitPolicy="UNIQUE"', 'id="table_Limit" hitPolicy="FIRST"');
    const turned = first.replace(row('AS-L01'), '').replace(row('AS-L03'), row('AS-L03') + row('AS-L01'));
    expect(diffModels(await model(first), await model(turned)).map((one) => one.sentence)).toEqual([
      '"Limit": the rows stand in another order, and the first that fits answers.',
    ]);
  });
});
