// Proves     a file becomes a protocol only with known inputs, known values, all outputs, and its own description;
//            and never approves itself. Tolerance exact.
import { readFileSync } from 'node:fs';
import { isRefusal, orThrow } from '@ebbline/core/quantity';
import { describe, expect, it } from 'vitest';
import { compileProtocol } from './compile-protocol.ts';
import { readDmn } from './read-dmn.ts';

const starter = readFileSync(new URL('starter/after-surgery.dmn', import.meta.url), 'utf8');
const outcome = async (xml: string): Promise<string> => {
  const protocol = compileProtocol(orThrow(await readDmn(xml)));
  return isRefusal(protocol) ? protocol.code : String(protocol.approval);
};

describe('a protocol file', () => {
  it('of the starters compiles', async () => expect(await outcome(starter)).toBe('example-not-approved'));
  it('cannot approve itself', async () => {
    expect(await outcome(starter.replace('approval="example-not-approved"', 'approval="signed"'))).toBe(
      'example-not-approved',
    );
  });
  it.each([
    ['without its description', /<ebbline:protocol [^>]*>/, ''],
    ['with a setting that does not exist', 'settings="after-surgery"', 'settings="everywhere"'],
    ['with no age band', 'ageBands="adult over-75"', 'ageBands=""'],
    ['with half a version', 'version="1" approval', 'version="1.5" approval'],
    ['with a trust that does not exist', '<text>"low-bound-only"</text>', '<text>"low-bound"</text>'],
    ['with a range for a word', /<text>"low-bound-only"<\/text>/, '<text>&gt; 3</text>'],
    ['without an owner column', 'name="ownerRole"', 'name="owner"'],
    ['with an input that the dictionary does not know', /<text>residualMl<\/text>/, '<text>restMl</text>'],
  ])('%s is refused', async (_name, from, to) => {
    const changed = starter.replace(from, to);
    expect(changed).not.toBe(starter);
    expect(await outcome(changed)).toBe('protocol/not-a-protocol');
  });
  it('with a cell beyond the compiled form is refused', async () => {
    expect(await outcome(starter.replace('<text>&gt; 400</text>', '<text>&gt; limitMl</text>'))).toBe(
      'protocol/not-compilable',
    );
  });
});
