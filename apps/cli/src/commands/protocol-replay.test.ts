// Proves     `protocol replay` compares two files on made-up wards and over a data folder, gives the same JSON again, and keeps
//            the exit codes. Runs the program in a process of its own.
// Tolerance  exact
import { spawnSync } from 'node:child_process';
import { mkdirSync, mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import path from 'node:path';
import { fileURLToPath } from 'node:url';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { demoWorld, organisation } from '@ebbline/simulate';
import { openStore } from './data-folder.ts';

const here = (to: string): string => fileURLToPath(new URL(to, import.meta.url));
const main = here('../main.ts');
const starter = here('../../../../packages/protocol/src/starter/after-surgery.dmn');
const scratch = mkdtempSync(path.join(tmpdir(), 'ebbline-replay-'));
const draft = path.join(scratch, 'draft.dmn');
const data = path.join(scratch, 'data');
afterAll(() => rmSync(scratch, { recursive: true, force: true }));

beforeAll(async () => {
  // Looks under 250 mL come after 150 minutes instead of 90.
  const text = readFileSync(starter, 'utf8');
  const changed = text.replace(
    '<outputEntry id="AS-31_o2"><text>90<',
    '<outputEntry id="AS-31_o2"><text>150<',
  );
  expect(changed).not.toBe(text);
  writeFileSync(draft, changed);
  mkdirSync(path.join(data, 'demo'), { recursive: true });
  const store = await openStore(path.join(data, 'demo'), organisation);
  const { entries } = demoWorld({ seed: 4, nowMs: Date.UTC(2026, 4, 12, 16, 30), pastEpisodes: 4 });
  await store.append(entries, { receivedAt: (entry) => entry.recordedAt, actor: 'test' });
  await store.close();
});

function run(...words: readonly string[]): { code: number | null; out: string; complaint: string } {
  const done = spawnSync(process.execPath, [main, 'protocol', 'replay', ...words], { encoding: 'utf8' });
  return { code: done.status, out: done.stdout, complaint: done.stderr };
}
const few = ['--patients', '2', '--hours', '6', '--seed', '5'];
/** Several processes one after the other, where others work too. */
const longMs = 120_000;

interface Told {
  readonly madeUp: {
    readonly patients: number;
    readonly figures: Readonly<Record<string, { readonly difference: { readonly mean: number } }>>;
  };
}

describe('ebbline protocol replay', () => {
  it(
    'compares on made-up wards in words, says that they are modelled, and writes no sign for "greater than"',
    () => {
      const { code, out, complaint } = run(starter, draft, ...few);
      expect([code, complaint]).toEqual([0, '']);
      expect(out).toContain('Modelled: 2 made-up patients, 6 h each');
      expect(out).toMatch(/Hours over the limit +\d\.\d\d +\d\.\d\d /);
      expect(out).not.toContain('Over the past');
      expect(out).not.toContain('>');
    },
    longMs,
  );

  it(
    'gives the same JSON again, all zeros for a protocol beside itself, and others by the other generator',
    () => {
      const words = [starter, draft, ...few, '--json'];
      const first = run(...words);
      expect(run(...words).out).toBe(first.out);
      expect(run(...words, '--generator', 'other').out).not.toBe(first.out);
      const { madeUp } = JSON.parse(run(starter, starter, ...few, '--json').out) as Told;
      expect(madeUp.patients).toBe(2);
      expect(Object.values(madeUp.figures).map((one) => one.difference.mean)).toEqual([0, 0, 0, 0, 0, 0]);
    },
    longMs,
  );

  it(
    'goes over the finished watches of a data folder',
    () => {
      const { code, out } = run(starter, draft, ...few, '--data', data, '--demo');
      expect(code).toBe(0);
      expect(out).toMatch(/Over the past\nGone over: [1-9]\d* finished watch/);
      expect(out).toMatch(/within 90 minutes: nurse \(row AS-31\) \| Look again, within 150 minutes/);
      expect(out).toContain('modelled from everything charted');
    },
    longMs,
  );

  it(
    'exits 3 without a finished watch or a protocol, and 2 on words that it does not know',
    () => {
      const otherWard = run(starter, draft, ...few, '--data', data, '--demo', '--ward', 'nowhere');
      expect([otherWard.code, otherWard.complaint]).toEqual([
        3,
        expect.stringContaining('[replay/nothing-to-replay]'),
      ]);
      const one = run(starter, draft, '--patients', '1');
      expect([one.code, one.complaint]).toEqual([
        3,
        expect.stringContaining('[replay/patients-out-of-range]'),
      ]);
      expect(run(starter, path.join(scratch, 'none.dmn')).code).toBe(3);
      for (const words of [
        ['--generator', 'third'],
        ['--patients', 'many'],
      ])
        expect(run(starter, draft, ...words).code, words.join(' ')).toBe(2);
      expect(run(starter).code).toBe(2);
    },
    longMs,
  );
});
