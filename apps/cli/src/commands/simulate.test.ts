// Proves     `ebbline simulate`: words, JSON, CSV and figure of the same patients by both generators, exit codes, and that a
//            run stopped by Ctrl-C keeps finished patients and goes on to the same answer. Runs the program in a process
//            of its own.
// Tolerance  exact
import { spawn, spawnSync } from 'node:child_process';
import { appendFileSync, mkdtempSync, readFileSync, rmSync, watch, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import path from 'node:path';
import { fileURLToPath } from 'node:url';
import { afterAll, describe, expect, it } from 'vitest';

const main = fileURLToPath(new URL('../main.ts', import.meta.url));
const scratch = mkdtempSync(path.join(tmpdir(), 'ebbline-simulate-'));
afterAll(() => rmSync(scratch, { recursive: true, force: true }));
const few = ['--hours', '8', '--strategies', 'fixed-4h,ours-5,ours-50', '--seed', '3'];

function run(...words: readonly string[]): { code: number | null; out: string; complaint: string } {
  const done = spawnSync(process.execPath, [main, 'simulate', ...words], { encoding: 'utf8' });
  return { code: done.status, out: done.stdout, complaint: done.stderr };
}

interface Told {
  readonly patients: number;
  readonly strategies: readonly {
    readonly name: string;
    readonly measures: { readonly looks: { readonly mean: number } };
  }[];
}

describe('ebbline simulate', () => {
  it('shows a table with intervals, says what made-up patients do not show, and compares', () => {
    const { code, out, complaint } = run('--patients', '6', ...few);
    expect([code, complaint]).toEqual([0, '']);
    expect(out).toContain('6 made-up patients, 8 h each, generator own, seed 3');
    expect(out).toContain('not how they do on people');
    // A look when the watch opens and one after four hours; a third when a patient says that nothing comes.
    expect(out).toMatch(/fixed-4h +\d+\.\d\d \(\d+\.\d\d to \d+\.\d\d\)/);
    expect(out).not.toContain('>');
  });

  it('gives the same JSON again for the same seed, and other patients by the other generator', () => {
    const words = ['--patients', '4', ...few, '--json'];
    const first = run(...words);
    expect(run(...words).out).toBe(first.out);
    const told = JSON.parse(first.out) as Told;
    expect(told.patients).toBe(4);
    expect(told.strategies.map((one) => one.name)).toEqual(['fixed-4h', 'ours-5', 'ours-50']);
    expect(told.strategies[1]?.measures.looks.mean).toBeGreaterThan(
      told.strategies[2]?.measures.looks.mean ?? 99,
    );
    expect(run(...words, '--generator', 'other').out).not.toBe(first.out);
  });

  it('writes a row for each patient and strategy, and a figure', () => {
    const [csv, svg] = [path.join(scratch, 'each.csv'), path.join(scratch, 'figure.svg')];
    expect(run('--patients', '3', ...few, '--csv', csv, '--svg', svg).code).toBe(0);
    const rows = readFileSync(csv, 'utf8').trim().split('\n');
    expect(rows[0]).toBe(
      'generator,seed,patient,strategy,hours_over_limit,worst_ml,looks,catheterisations,needless,woken',
    );
    expect(rows).toHaveLength(1 + 3 * 3);
    expect(readFileSync(svg, 'utf8')).toContain('<title id="title">');
  });

  it('says that a few finished watches are too few to fit figures to', () => {
    const { code, complaint } = run('--patients', '2', ...few, '--history', '3');
    expect([code, complaint.includes('[filling/too-few-lessons]')]).toEqual([3, true]);
  });

  it.runIf(process.env['EBBLINE_LONG'] === '1')(
    'looks otherwise with figures fitted to finished watches, and the simple rules as before',
    () => {
      const told = (...words: readonly string[]) =>
        (JSON.parse(run('--patients', '3', ...few, '--json', ...words).out) as Told).strategies;
      const [before, after] = [told(), told('--history', '12')];
      expect(after[0]).toEqual(before[0]);
      expect(after.slice(1)).not.toEqual(before.slice(1));
    },
    300_000,
  );

  it('exits 2 on words that it does not know, and says the ones that it does', () => {
    for (const [words, said] of [
      [['--patients', '1'], '--patients is a whole number from 2'],
      [['--history', 'all'], '--history is a whole number from 0'],
      [['--seed', '-1'], '--seed is a whole number'],
      [['--generator', 'third'], '--generator is own or other'],
      [['--strategies', 'fixed-4h,often'], '[simulate/unknown-strategy]'],
    ] as const) {
      const got = run(...words);
      expect(got.code, words.join(' ')).toBe(2);
      expect(got.complaint).toContain(said);
    }
  });

  it('exits 3 on results of another run, on a broken one, and where it cannot write', () => {
    const file = path.join(scratch, 'other.ndjson');
    expect(run('--patients', '2', ...few, '--resume', file).code).toBe(0);
    const other = run('--patients', '2', ...few, '--seed', '9', '--resume', file);
    expect([other.code, other.complaint.includes('[simulate/other-run]')]).toEqual([3, true]);
    appendFileSync(file, '{"index":0}\n');
    const broken = run('--patients', '2', ...few, '--resume', file);
    expect([broken.code, broken.complaint.includes('[simulate/broken-results]')]).toEqual([3, true]);
    const nowhere = run('--patients', '2', ...few, '--csv', path.join(scratch, 'no', 'such', 'folder.csv'));
    expect([nowhere.code, nowhere.complaint.includes('[cli/file-not-written]')]).toEqual([3, true]);
  });

  it('keeps finished patients when Ctrl-C stops it, and goes on to the answer of a run that was not stopped', async () => {
    const file = path.join(scratch, 'kept.ndjson');
    writeFileSync(file, '');
    rmSync(file);
    const running = spawn(
      process.execPath,
      [main, 'simulate', '--patients', '5000', ...few, '--resume', file],
      {
        stdio: ['ignore', 'pipe', 'pipe'],
      },
    );
    let complaint = '';
    running.stderr.on('data', (part: Buffer) => (complaint += part.toString()));
    const lines = (): number => {
      try {
        return readFileSync(file, 'utf8').split('\n').length - 2;
      } catch {
        return 0;
      }
    };
    const eye = watch(scratch, () => {
      if (lines() < 3) return;
      eye.close();
      running.kill('SIGINT');
    });
    const code = await new Promise<number | null>((resolve) => running.on('close', resolve));
    expect(code).toBe(130);
    expect(complaint).toMatch(/Stopped after \d+ of 5000 patients/);
    const kept = lines();
    expect(kept).toBeGreaterThanOrEqual(3);
    expect(kept).toBeLessThan(5000);
    // Three of them and a line cut in the middle of writing: that patient is done again, the three are not.
    const three = readFileSync(file, 'utf8').split('\n').slice(0, 4);
    writeFileSync(file, `${three.join('\n')}\n{"index":4,"pat`);
    const resumed = run('--patients', '6', ...few, '--json', '--resume', file);
    expect([resumed.code, resumed.complaint]).toEqual([0, '']);
    expect(resumed.out).toBe(run('--patients', '6', ...few, '--json').out);
    const rows = readFileSync(file, 'utf8').split('\n');
    expect(rows.slice(0, 4)).toEqual(three);
    expect(rows).toHaveLength(1 + 6 + 1);
  });
});
