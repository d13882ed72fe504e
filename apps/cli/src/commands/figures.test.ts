// Proves     a unit's own starting figures are taken from a file by `estimate`, few readings teach nothing, and what is not
//            such a file is refused.
// Published  none: a made log
// Tolerance  exact. That figures are found again is proved where they are fitted
import { spawnSync } from 'node:child_process';
import { existsSync, mkdtempSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import path from 'node:path';
import { fileURLToPath } from 'node:url';
import { afterAll, describe, expect, it } from 'vitest';

const main = fileURLToPath(new URL('../main.ts', import.meta.url));
const folder = mkdtempSync(path.join(tmpdir(), 'ebbline-figures-'));
afterAll(() => rmSync(folder, { recursive: true }));

const file = (name: string, text: string): string => {
  const at = path.join(folder, name);
  writeFileSync(at, text);
  return at;
};
const common = (id: string, clock: string): Record<string, unknown> => ({
  id,
  patient: 'w-P01',
  at: `2026-05-12T${clock}:00+02:00`,
  atQuality: 'exact',
  recordedAt: `2026-05-12T${clock}:30+02:00`,
  source: 'typed',
});
const log = file(
  'log.ndjson',
  [
    {
      ...common('e1', '08:00'),
      kind: 'watch',
      setting: 'after-surgery',
      ageY: 70,
      sex: 'female',
      weightKg: 70,
      limitMl: 500,
      cautions: [],
      catheterInPlace: false,
    },
    {
      ...common('e2', '08:10'),
      kind: 'reading',
      volumeMl: 200,
      bound: 'exact',
      doubts: [],
      afterVoid: false,
      look: 'e2',
    },
  ]
    .map((one) => `${JSON.stringify(one)}\n`)
    .join(''),
);
const run = (...words: readonly string[]) =>
  spawnSync(process.execPath, [main, ...words], { encoding: 'utf8' });
const rate = (...more: readonly string[]): number => {
  const done = run('estimate', log, '--json', ...more);
  expect(done.status, done.stderr).toBe(0);
  const said = JSON.parse(done.stdout) as { estimates: readonly { rateMlPerH: { p50: number } }[] };
  return said.estimates[0]?.rateMlPerH.p50 ?? Number.NaN;
};

describe("a unit's own starting figures", () => {
  it('are used by an estimate', () => {
    const figures = file('own.json', '{"common":{"inflowMlPerH":2,"earlyExtraMlPerH":2},"bySetting":{}}');
    expect(rate('--figures', figures) / rate()).toBeCloseTo(2, 1);
  });

  it('are not learnt from one reading', () => {
    const out = path.join(folder, 'learnt.json');
    const done = run('figures', log, '--out', out);
    expect(done.status).toBe(3);
    expect(done.stderr).toContain('1 measured volumes');
    expect(existsSync(out)).toBe(false);
  });

  it('are not any other file', () => {
    for (const [name, text, code] of [
      ['broken.json', '{', 'figures/not-json'],
      ['other.json', '{"common":{"limitMl":2},"bySetting":{}}', 'filling/not-figures'],
    ] as const) {
      const done = run('estimate', log, '--json', '--figures', file(name, text));
      expect(done.status).toBe(3);
      expect(done.stderr).toContain(code);
    }
  });
});
