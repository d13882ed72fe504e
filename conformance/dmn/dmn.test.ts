// Proves     our reader and runner answer the decision-table cases of the public DMN conformance kit.
// Published  the kit's own test files, read from the folder that EBBLINE_SAMPLES names; not kept here
// Tolerance  numbers 1e-8 (the kit's own); texts, yes/no and lists exactly. The kit writes "no answer" as nil;
//            our refusals of kind no-row, two-rows, rows-differ and input-not-allowed count as nil, no other does.
import { existsSync, readFileSync, readdirSync } from 'node:fs';
import { fileURLToPath } from 'node:url';
import { isRefusal } from '@ebbline/core/quantity';
import { answerDecision, readDmn } from '@ebbline/protocol';
import { describe, expect, it } from 'vitest';
import { readCases } from './test-case.ts';

const samples = process.env['EBBLINE_SAMPLES'];
const folder = `${samples ?? ''}/dmn`;
const present = samples !== undefined && existsSync(folder);
const asNil = new Set([
  'protocol/no-row',
  'protocol/two-rows',
  'protocol/rows-differ',
  'protocol/input-not-allowed',
]);

/** name → reason; a line is `folder/case-id` or `folder`, a tab, and why. */
const skips = new Map(
  readFileSync(fileURLToPath(new URL('skip-list.txt', import.meta.url)), 'utf8')
    .split('\n')
    .filter((line) => line !== '' && !line.startsWith('#'))
    .map((line) => line.split('\t') as [string, string]),
);

const near = (got: unknown, expected: unknown): boolean => {
  if (typeof got === 'number' && typeof expected === 'number') return Math.abs(got - expected) <= 1e-8;
  if (Array.isArray(got) && Array.isArray(expected))
    return got.length === expected.length && got.every((one, index) => near(one, expected[index]));
  if (got !== null && expected !== null && typeof got === 'object' && typeof expected === 'object') {
    const keys = Object.keys(expected);
    return (
      Object.keys(got).length === keys.length &&
      keys.every((key) =>
        near((got as Record<string, unknown>)[key], (expected as Record<string, unknown>)[key]),
      )
    );
  }
  return got === expected;
};

/** What went wrong in one case, or undefined. */
async function trouble(name: string, id: string): Promise<string | undefined> {
  const file = readdirSync(`${folder}/${name}`).find((one) => one.endsWith('.dmn')) as string;
  const model = await readDmn(readFileSync(`${folder}/${name}/${file}`, 'utf8'));
  if (isRefusal(model)) return model.code;
  for (const one of casesOf(name).filter((candidate) => candidate.id === id)) {
    for (const { decision, expected } of one.results) {
      const answer = answerDecision(model, decision, one.inputs);
      const got = isRefusal(answer) ? (asNil.has(answer.code) ? null : answer) : answer.value;
      if (!near(got, expected))
        return `${decision}: got ${JSON.stringify(got)}, expected ${JSON.stringify(expected)}`;
    }
  }
  return undefined;
}

const casesOf = (name: string): ReturnType<typeof readCases> =>
  readdirSync(`${folder}/${name}`)
    .filter((one) => /-test-.*\.xml$/.test(one))
    .flatMap((one) => readCases(readFileSync(`${folder}/${name}/${one}`, 'utf8')));

const folders = present
  ? readdirSync(folder)
      .filter((name) => !name.includes('.'))
      .sort()
  : [];

describe.skipIf(!present)('DMN conformance kit (needs EBBLINE_SAMPLES with a dmn folder)', () => {
  it('finds cases to run', () => {
    expect(folders.length).toBeGreaterThan(0);
  });

  for (const name of folders) {
    const all = casesOf(name);
    it(`${name} has at least one case`, () => expect(all.length).toBeGreaterThan(0));
    for (const { id } of all) {
      const reason = skips.get(`${name}/${id}`) ?? skips.get(name);
      it(reason === undefined ? `${name} ${id}` : `${name} ${id} is still outside: ${reason}`, async () => {
        const found = await trouble(name, id);
        if (reason === undefined) expect(found).toBeUndefined();
        else expect(found, 'this case now passes: take it off skip-list.txt').not.toBeUndefined();
      });
    }
  }

  it('every line of the skip list names a case that exists, with a reason', () => {
    for (const [name, reason] of skips) {
      expect(reason, name).toMatch(/\w{3,}/);
      const [one = '', id] = name.split('/');
      expect(folders, name).toContain(one);
      if (id !== undefined) expect(casesOf(one).map((candidate) => candidate.id)).toContain(id);
    }
  });
});
