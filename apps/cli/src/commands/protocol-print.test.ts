// Proves     `protocol print` writes a PDF of one page, or the tables, and a PlanDefinition; a protocol with a hole is refused with
//            exit 3 and nothing is written; wrong words are bad usage. Runs the command in a process of its own.
import { spawnSync } from 'node:child_process';
import { existsSync, mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { afterAll, describe, expect, it } from 'vitest';

const folder = mkdtempSync(join(tmpdir(), 'ebbline-print-'));
afterAll(() => rmSync(folder, { recursive: true, force: true }));
const here = (path: string): string => fileURLToPath(new URL(path, import.meta.url));
const starter = here('../../../../packages/protocol/src/starter/after-surgery.dmn');
const program = `import { Command } from 'commander'; import { protocolCommand } from ${JSON.stringify(here('protocol.ts'))}; await new Command('ebbline').addCommand(protocolCommand()).parseAsync(['node', 'ebbline', 'protocol', 'print', ...process.argv.slice(1)]);`;

function run(...words: readonly string[]): { code: number | null; out: string; complaint: string } {
  const done = spawnSync(process.execPath, ['--input-type=module', '-e', program, '--', ...words], {
    cwd: here('.'),
    encoding: 'utf8',
  });
  return { code: done.status, out: done.stdout, complaint: done.stderr };
}
const pagesOf = (path: string): number => readFileSync(path, 'latin1').match(/\/Type \/Page\n/g)?.length ?? 0;

describe('ebbline protocol print', () => {
  it('writes the flow sheet on one page, and with --table the tables', () => {
    const sheet = join(folder, 'sheet.pdf');
    expect(run(starter, '--pdf', sheet)).toEqual({
      code: 0,
      out: `Wrote the flow sheet of "After surgery" to ${sheet}\n`,
      complaint: '',
    });
    expect(readFileSync(sheet, 'latin1').startsWith('%PDF-')).toBe(true);
    expect(pagesOf(sheet)).toBe(1);
    const tables = join(folder, 'tables.pdf');
    expect(run(starter, '--pdf', tables, '--table').code).toBe(0);
    expect(pagesOf(tables)).toBeGreaterThan(1);
  });

  it('writes a PlanDefinition, a draft and an example, with one action a row', () => {
    const out = join(folder, 'plan.json');
    expect(run(starter, '--plan-definition', out).code).toBe(0);
    const plan = JSON.parse(readFileSync(out, 'utf8')) as {
      action: { action: { prefix: string }[] }[];
      [name: string]: unknown;
    };
    expect(plan).toMatchObject({ resourceType: 'PlanDefinition', status: 'draft', experimental: true });
    expect(plan['title']).toBe('After surgery (example, not approved)');
    expect(plan.action[0]?.action.map((one) => one.prefix)).toContain('AS-32');
  });

  it('refuses a protocol with a hole, and writes nothing', () => {
    const holed = join(folder, 'holed.dmn');
    writeFileSync(holed, readFileSync(starter, 'utf8').replace(/<rule id="AS-32">[\s\S]*?<\/rule>/, ''));
    const out = join(folder, 'holed.pdf');
    const { code, complaint } = run(holed, '--pdf', out);
    expect([code, complaint]).toEqual([3, expect.stringContaining('[protocol/not-proved]')]);
    expect(existsSync(out)).toBe(false);
  });

  it('is bad usage without an output, and refused for a file that is no protocol', () => {
    expect(run(starter).code).toBe(2);
    expect(run(starter, '--table').code).toBe(2);
    const plain = join(folder, 'plain.dmn');
    writeFileSync(plain, 'no decision model');
    expect(run(plain, '--pdf', join(folder, 'x.pdf')).code).toBe(3);
    expect(run(starter, '--pdf', join(folder, 'nowhere', 'x.pdf')).code).toBe(3);
  });
});
