// Proves     `protocol answer` prints {"decision","value","rows"} on standard output and keeps the exit codes:
//            0 answered, 2 bad usage, 3 refused input. Runs the command in a process of its own. Tolerance exact.
import { spawnSync } from 'node:child_process';
import { mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { afterAll, describe, expect, it } from 'vitest';

const folder = mkdtempSync(join(tmpdir(), 'ebbline-protocol-'));
afterAll(() => rmSync(folder, { recursive: true, force: true }));
const here = (path: string): string => fileURLToPath(new URL(path, import.meta.url));
const starter = here('../../../../packages/protocol/src/starter/after-surgery.dmn');
const program = `import { Command } from 'commander'; import { protocolCommand } from ${JSON.stringify(here('protocol.ts'))}; await new Command('ebbline').addCommand(protocolCommand()).parseAsync(['node', 'ebbline', ...process.argv.slice(1)]);`;

function run(...words: readonly string[]): { code: number | null; out: string; complaint: string } {
  const done = spawnSync(process.execPath, ['--input-type=module', '-e', program, '--', ...words], {
    cwd: here('.'),
    encoding: 'utf8',
  });
  return { code: done.status, out: done.stdout, complaint: done.stderr };
}

const input = JSON.stringify({
  trust: 'good',
  doNotDrain: 'none',
  trigger: 'reading',
  volumeKind: 'exact',
  volumeMl: 240,
});

describe('ebbline protocol answer', () => {
  it('prints decision, value and rows, and exits 0', () => {
    const { code, out } = run(
      'protocol',
      'answer',
      starter,
      '--decision',
      'Number',
      '--input',
      input,
      '--json',
    );
    expect([code, out]).toEqual([0, '{"decision":"Number","value":"good","rows":["AS-N11"]}\n']);
  });
  it('reads the input from a file', () => {
    const path = join(folder, 'input.json');
    writeFileSync(path, input);
    const { code, out } = run('protocol', 'answer', starter, '--decision', 'Number', '--input', `@${path}`);
    expect(code).toBe(0);
    expect(JSON.parse(out)).toEqual({ decision: 'Number', value: 'good', rows: ['AS-N11'] });
  });
  it('takes every input of the dictionary for a protocol, and answers the advice with its row', () => {
    const patient = {
      ...(JSON.parse(input) as object),
      setting: 'after-surgery',
      relation: 'before-void',
      discomfort: false,
      redFlag: 'none',
      residualLate: false,
      looksSoFar: 1,
      drainsSoFar: 0,
      voidsSoFar: 0,
      lowResidualsInARow: 0,
      ageBand: 'adult',
      limitMl: 600,
      overLimit: 'no',
      catheterInPlace: false,
    };
    const { code, out } = run('protocol', 'answer', starter, '--input', JSON.stringify(patient), '--json');
    expect(code).toBe(0);
    expect(JSON.parse(out)).toMatchObject({
      decision: 'Advice',
      value: { step: 'look-again', dueInMin: 90 },
      rows: ['AS-31'],
    });
  });
  it('takes the one decision that no other needs when none is named, and refuses a child there, exit 3', () => {
    const { code, out, complaint } = run(
      'protocol',
      'answer',
      starter,
      '--input',
      '{"ageBand":"child"}',
      '--json',
    );
    expect(code).toBe(3);
    expect(complaint).toContain('[protocol/input-not-allowed]');
    expect(JSON.parse(out).code).toBe('protocol/input-not-allowed');
  });
  it.each([
    ['input that is no JSON', 2, ['--input', '{"a"']],
    ['no input', 2, []],
    ['an option that does not exist', 2, ['--input', '{}', '--loud']],
    ['an input in another unit', 3, ['--input', '{"volumeCl":24}']],
    ['an input file that is not there', 3, ['--input', '@nowhere.json']],
  ] as const)('with %s exits %i and answers nothing', (_name, code, words) => {
    const done = run('protocol', 'answer', starter, '--decision', 'Number', ...words);
    expect(done.code).toBe(code);
    expect(done.out).toBe('');
    expect(done.complaint.length).toBeGreaterThan(10);
  });
});

describe('ebbline protocol prove', () => {
  it('proves a starter, and exits 0', () => {
    const { code, out } = run('protocol', 'prove', starter, '--json');
    expect(code).toBe(0);
    expect(JSON.parse(out)).toMatchObject({ proved: true, faults: [] });
  });
  it('names the rows that meet at 250 mL, with a patient, and exits 3', () => {
    const path = join(folder, 'overlap.dmn');
    writeFileSync(
      path,
      readFileSync(starter, 'utf8').replace('<text>null, &lt; 250</text>', '<text>null, &lt;= 250</text>'),
    );
    const { code, out } = run('protocol', 'prove', path);
    expect(code).toBe(3);
    expect(out).toMatch(/^overlap: rows AS-31 and AS-32 of Advice fit together; for example .*volumeMl 250/m);
    expect(out).toContain('Not proved: 1 fault.');
  });
  it('refuses a decision model that is no protocol', () => {
    const path = join(folder, 'other.dmn');
    writeFileSync(path, readFileSync(starter, 'utf8').replace(/<ebbline:protocol [^>]*>/, ''));
    const { code, complaint } = run('protocol', 'prove', path);
    expect(code).toBe(3);
    expect(complaint).toContain('[protocol/not-a-protocol]');
  });
});

describe('ebbline protocol diff', () => {
  it('says what changed, row by row, and exits 0', () => {
    const path = join(folder, 'later.dmn');
    writeFileSync(
      path,
      readFileSync(starter, 'utf8').replace('<text>null, &lt; 250</text>', '<text>null, &lt; 300</text>'),
    );
    const { code, out } = run('protocol', 'diff', starter, path);
    expect([code, out]).toEqual([0, 'Row AS-31: volumeMl null, < 250 is now null, < 300.\n']);
  });
  it('says that nothing changed, and refuses a file that is no DMN with exit 3', () => {
    expect(run('protocol', 'diff', starter, starter).out).toBe('No difference.\n');
    const path = join(folder, 'no.dmn');
    writeFileSync(path, 'volume 240');
    const { code, out, complaint } = run('protocol', 'diff', starter, path);
    expect([code, out]).toEqual([3, '']);
    expect(complaint).toContain('[protocol/not-dmn]');
  });
});
