// Proves     the volume verb answers every path, keeps the contract of CSV, JSON and exit codes, and one bad path does
//            not stop the others.
// Tolerance  exact words and codes; the volume of the drawn sphere within 15 %
import { spawnSync } from 'node:child_process';
import { mkdirSync, mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { seededRandom } from '@ebbline/core/quantity';
import { join as joined, testFile, type TestFile } from '@ebbline/interop/dicom/testing';
import { decode, encode } from 'fast-png';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { volumeCsv, volumeLine } from './volume.ts';

const script = `import { volumeCommand } from ${JSON.stringify(fileURLToPath(new URL('./volume.ts', import.meta.url)))};
await volumeCommand().parseAsync(process.argv.slice(1), { from: 'user' });`;
const run = (...words: string[]) =>
  spawnSync(process.execPath, ['--input-type=module', '-e', script, '--', ...words], {
    encoding: 'utf8',
    timeout: 30_000,
  });

let folder = '';
const at = (name: string): string => join(folder, name);

/** A fan of planes through a sphere with radius 35 mm, 70 mm deep: 179.6 mL. */
function drawSet(name: string, geometry: (value: Record<string, unknown>) => void = () => undefined): void {
  mkdirSync(at(name));
  const random = seededRandom(9);
  const width = 301;
  const height = 171;
  const planes = Array.from({ length: 8 }, (_, index) => ({
    index,
    file: `plane_0${index}.png`,
    rotation_deg: 22.5 * index,
  }));
  for (const plane of planes) {
    const data = new Uint8Array(width * height);
    for (let y = 0; y < height; y += 1) {
      for (let x = 0; x < width; x += 1) {
        const s = (x - 150) * 0.8;
        const d = y * 0.8;
        const r = Math.hypot(s, d);
        if (Math.abs(Math.atan2(s, d)) > 1 || r < 5 || r > 135) continue;
        const inside = 35 - Math.hypot(s, d - 70);
        data[y * width + x] = Math.max(
          1,
          110 * (1 + 0.2 * random.normal()) * Math.max(0, Math.min(1, 1 - inside / 3)),
        );
      }
    }
    writeFileSync(at(`${name}/${plane.file}`), encode({ width, height, channels: 1, depth: 8, data }));
  }
  const value: Record<string, unknown> = {
    format: 'planeset-1',
    layout: 'rotational_fan',
    image: { width, height },
    mm_per_px: { x: 0.8, y: 0.8 },
    apex_px: { x: 150, y: 0 },
    sector: { half_angle_deg: 57.2958, r_min_mm: 5, r_max_mm: 135 },
    planes,
  };
  geometry(value);
  writeFileSync(at(`${name}/geometry.json`), JSON.stringify(value));
}

/** The planes of a drawn set as one DICOM file with everything that it needs, changed as asked. */
function drawDicom(set: string, name: string, change: TestFile = {}): void {
  const planes = Array.from({ length: 8 }, (_, index) =>
    Uint8Array.from(decode(readFileSync(at(`${set}/plane_0${index}.png`))).data),
  );
  const bytes = testFile({
    width: 301,
    height: 171,
    frames: 8,
    comment: 'rotational_fan plane angles deg: 0 22.5 45 67.5 90 112.5 135 157.5',
    regions: [{ bounds: [0, 0, 300, 170], deltaCm: [0.08, 0.08], reference: { px: [150, 0], cm: [0, 0] } }],
    pixels: joined(planes),
    ...change,
  });
  writeFileSync(at(name), bytes);
}

beforeAll(() => {
  folder = mkdtempSync(join(tmpdir(), 'volume-'));
  drawSet('sphere');
  drawSet('unscaled', (value) => delete value['mm_per_px']);
  drawDicom('sphere', 'whole.dcm');
  drawDicom('sphere', 'unscaled.dcm', { regions: [] });
  drawDicom('sphere', 'other-angles.dcm', {
    comment: 'rotational_fan plane angles deg: 0 20 40 60 80 100 120 140',
  });
  writeFileSync(at('notes.txt'), 'not an image');
});
afterAll(() => rmSync(folder, { recursive: true, force: true }));

describe('volume of a DICOM file', () => {
  it('is that of the same planes as pictures', () => {
    const done = run(at('sphere'), at('whole.dcm'));
    const [pictures, dicom] = done.stdout.split('\n').map((line) => line.replace(/^\S+ /, ''));
    expect(dicom).toMatch(/^\d+ mL/);
    expect(dicom).toBe(pictures);
  });
  it('without a scale is refused; with one given by hand it is answered and says so', () => {
    const bare = run(at('unscaled.dcm'));
    expect(bare.status).toBe(3);
    expect(bare.stdout).toContain('[dicom/scale-missing]');
    const given = run(at('unscaled.dcm'), '--geometry', at('sphere/geometry.json'));
    expect(given.status).toBe(0);
    expect(given.stdout).toMatch(/^unscaled\.dcm: \d+ mL .*scale or layout given by hand/);
  });
  it('is refused where the given geometry contradicts what the file states', () => {
    const done = run(at('other-angles.dcm'), '--geometry', at('sphere/geometry.json'));
    expect(done.status).toBe(3);
    expect(done.stdout).toContain('[dicom/layout-contradictory]');
  });
});

describe('volume', () => {
  it('answers a set, and a bad path beside it does not stop it: exit 0, CSV of both', () => {
    const done = run(at('sphere'), at('unscaled'), at('nowhere'), '--csv', at('out.csv'));
    expect(done.status, done.stderr).toBe(0);
    expect(done.stderr).toBe('');
    expect(done.stdout).toMatch(/^sphere: \d+ mL \(90 % interval \d+ to \d+ mL\)\./);
    expect(done.stdout).toContain('[planeset/scale-missing]');
    const [header, sphere, unscaled, nowhere] = readFileSync(at('out.csv'), 'utf8').trimEnd().split('\n');
    expect(header).toBe('case,volume_ml,lo,hi,answer,reasons');
    const [name, volume, lo, hi, answer] = (sphere as string).split(',');
    expect([name, answer]).toEqual(['sphere', 'volume']);
    expect(Math.abs(Number(volume) / 179.594 - 1)).toBeLessThan(0.15);
    expect(Number(lo)).toBeLessThan(Number(volume));
    expect(Number(hi)).toBeGreaterThan(Number(volume));
    expect(unscaled).toBe('unscaled,,,,refused,planeset/scale-missing');
    expect(nowhere).toBe('nowhere,,,,refused,cli/path-not-read');
  });
  it('prints one JSON value with --json', () => {
    const done = run('--json', at('sphere'));
    expect(done.status).toBe(0);
    const value = JSON.parse(done.stdout) as {
      format: string;
      results: { case: string; answer: string; planes: unknown[] }[];
    };
    expect(value).toMatchObject({
      format: 'volume-1',
      results: [{ case: 'sphere', answer: 'volume', method: 'rotational-fan', coefficient: 1 }],
    });
    expect(value.results[0]?.planes).toHaveLength(8);
  });
  it('exits 3 when all are refused, 2 on bad usage, 0 on help', () => {
    expect(run(at('unscaled'), at('notes.txt')).status).toBe(3);
    expect(run().status).toBe(2);
    expect(run(at('sphere'), '--wrong').status).toBe(2);
    expect(run(at('sphere'), '--csv', at('none/out.csv')).status).toBe(2);
    const help = run('--help');
    expect(help.status).toBe(0);
    expect(help.stdout).toContain('Example:');
  });
  it('takes --geometry where the folder has none and says so; a broken one is refused', () => {
    drawSet('bare');
    writeFileSync(at('given.json'), readFileSync(at('bare/geometry.json')));
    rmSync(at('bare/geometry.json'));
    expect(run(at('bare')).status).toBe(3);
    const done = run(at('bare'), '--geometry', at('given.json'));
    expect(done.status).toBe(0);
    expect(done.stdout).toContain('scale or layout given by hand');
    const broken = run(at('bare'), '--geometry', at('notes.txt'));
    expect(broken.status).toBe(3);
    expect(broken.stderr).toContain('[planeset/not-json]');
  });
});

describe('lines and CSV', () => {
  const base = { reasons: [], planes: [], findings: {} };
  it('write at least, never a sign, and give the bound as lo', () => {
    const row = {
      case: 'a,b',
      result: {
        ...base,
        answer: 'at-least' as const,
        volumeMl: 512.4,
        boundMl: 412.2,
        interval: { loMl: 412.2, hiMl: 640 },
      },
    };
    expect(volumeLine(row)).toBe(
      'a,b: at least 412 mL; completed estimate 512 mL (90 % interval 412 to 640 mL).',
    );
    expect(volumeCsv([row]).split('\n')[1]).toBe('"a,b",512.4,412.2,640.0,at-least,');
  });
  it('leave the volume empty when none was seen', () => {
    const none = {
      ...base,
      answer: 'none-seen' as const,
      reasons: [{ code: 'nothing-dark' as const, words: 'no fluid region found' }],
    };
    expect(volumeCsv([{ case: 'x', result: none }]).split('\n')[1]).toBe(
      'x,,,,none-seen,no fluid region found',
    );
    expect(volumeLine({ case: 'x', result: none })).toBe(
      'x: no bladder seen. Reasons to distrust: no fluid region found.',
    );
  });
  it('keep a name that a spreadsheet would run as text', () => {
    expect(volumeCsv([{ case: '=1+1', result: { ...base, answer: 'none-seen' } }]).split('\n')[1]).toBe(
      "'=1+1,,,,none-seen,",
    );
  });
});
