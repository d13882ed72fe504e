// Proves     what is taken in comes out again, in every format, and can be taken in by another folder with the same result;
//            what is refused leaves nothing behind; exit codes 0, 2 and 3.
// Published  the three public wards, when EBBLINE_SAMPLES names their folder: every line taken in, none refused
// Tolerance  none
import { createHash } from 'node:crypto';
import { modelOf, starterFor, writeDmn } from '@ebbline/protocol';
import { fileProtocols } from '@ebbline/server';
import { spawnSync } from 'node:child_process';
import {
  existsSync,
  mkdirSync,
  mkdtempSync,
  readdirSync,
  readFileSync,
  rmSync,
  writeFileSync,
} from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { afterAll, afterEach, beforeEach, describe, expect, it, vi } from 'vitest';
import { orThrow, RefusalError } from '@ebbline/core/quantity';
import type { Entry } from '@ebbline/core/record';
import { entriesCsv, readEntriesCsv } from '@ebbline/interop/csv';
import { checkBundle, type Bundle } from '@ebbline/interop/fhir';
import { workedPatientKnee } from '@ebbline/simulate';
import { runExport } from './export.ts';
import { runImport } from './import.ts';
import { runReport } from './report.ts';

const root = mkdtempSync(join(tmpdir(), 'ebbline-move-'));
afterAll(() => rmSync(root, { recursive: true, force: true }));
const nowMs = Date.parse('2026-11-25T12:00:00Z');
const samples = process.env['EBBLINE_SAMPLES'];
let made = 0;
const fresh = (): string => join(root, `data-${(made += 1)}`);

let out = '';
let complaint = '';
beforeEach(() => {
  out = '';
  complaint = '';
  vi.spyOn(process.stdout, 'write').mockImplementation((text) => {
    out += String(text);
    return true;
  });
  vi.spyOn(process.stderr, 'write').mockImplementation((text) => {
    complaint += String(text);
    return true;
  });
});
afterEach(() => vi.restoreAllMocks());

const common = { patient: 'w-P01', atQuality: 'exact', source: 'typed' };
const lines = [
  {
    id: 'w-e0001',
    kind: 'watch',
    ...common,
    at: '2026-05-12T08:00:00+02:00',
    recordedAt: '2026-05-12T08:01:00+02:00',
    setting: 'after-surgery',
    ageY: 72,
    sex: 'female',
    weightKg: 70.5,
    limitMl: 600,
    cautions: [],
    catheterInPlace: false,
  },
  {
    id: 'w-e0002',
    kind: 'reading',
    ...common,
    at: '2026-05-12T09:00:00+02:00',
    recordedAt: '2026-05-12T09:01:00+02:00',
    volumeMl: 430,
    bound: 'at-least',
    doubts: ['cut-below'],
    afterVoid: false,
    look: 'K1',
  },
  {
    id: 'w-e0003',
    kind: 'drained',
    ...common,
    at: '2026-05-12T09:20:00+02:00',
    recordedAt: '2026-05-12T09:21:00+02:00',
    measured: true,
    volumeMl: 690,
    route: 'in-out',
    operator: 'N1',
  },
];
function wardFolder(rows: readonly object[] = lines): string {
  const folder = fresh();
  mkdirSync(folder, { recursive: true });
  writeFileSync(
    join(folder, 'ward.json'),
    JSON.stringify({ format: 'wardlog-1', ward: 'w', zone: 'Europe/Vienna' }),
  );
  writeFileSync(join(folder, 'log.ndjson'), rows.map((row) => `${JSON.stringify(row)}\n`).join(''));
  return folder;
}
const entriesIn = (folder: string): Entry[] =>
  readFileSync(join(folder, 'entries.ndjson'), 'utf8')
    .trim()
    .split('\n')
    .map((row) => (JSON.parse(row) as { entry: Entry }).entry);
const refusalOf = async (work: Promise<unknown>): Promise<string> =>
  work.then(
    () => 'nothing refused',
    (problem: unknown) => (problem instanceof RefusalError ? problem.refusal.code : String(problem)),
  );

describe('import', () => {
  it('takes a ward log in, and taking it in again adds nothing', async () => {
    const [data, ward] = [fresh(), wardFolder()];
    expect(await runImport(ward, { data, json: true }, nowMs)).toBe(0);
    expect(JSON.parse(out)).toMatchObject({
      format: 'wardlog-1',
      lines: 3,
      entries: 6,
      refused: 0,
      kept: 6,
      known: 0,
    });
    out = '';
    expect(await runImport(ward, { data, json: true }, nowMs)).toBe(0);
    expect(JSON.parse(out)).toMatchObject({ kept: 0, known: 6 });
    const directory = JSON.parse(readFileSync(join(data, 'directory.json'), 'utf8')) as {
      wards: { id: string }[];
      people: { id: string }[];
    };
    expect(directory.wards.map((one) => one.id)).toEqual(['w']);
    expect(directory.people.map((one) => one.id)).toContain('w-N1');
  });

  it('refuses a log with one broken line, names the line, and leaves nothing behind', async () => {
    const data = fresh();
    const broken = wardFolder([lines[0] as object, { ...lines[1], volumeMl: 'much' }, lines[2] as object]);
    await expect(runImport(broken, { data }, nowMs)).rejects.toThrow('line 2');
    expect(existsSync(data)).toBe(false);
  });

  it('refuses a volume that no bladder holds, with its code', async () => {
    const data = fresh();
    expect(await runImport(wardFolder([{ ...lines[1], volumeMl: 9000 }]), { data }, nowMs)).toBe(3);
    expect(complaint).toContain('[record/out-of-range]');
    expect(existsSync(data)).toBe(false);
  });

  it('checks only when asked to', async () => {
    const data = fresh();
    expect(await runImport(wardFolder(), { data, check: true, json: true }, nowMs)).toBe(0);
    expect(existsSync(data)).toBe(false);
  });

  it('refuses an id that is taken by other content, and keeps none of the file', async () => {
    const [data, file] = [fresh(), join(root, 'changed.csv')];
    const knee = workedPatientKnee().map((one) => ({ ...one, organisation: 'our-organisation' }) as Entry);
    writeFileSync(file, entriesCsv(knee.slice(0, 3)));
    expect(await runImport(file, { data }, nowMs)).toBe(0);
    writeFileSync(
      file,
      entriesCsv([{ ...(knee[0] as Entry), madeOn: 'elsewhere' } as Entry, ...knee.slice(3)]),
    );
    expect(await runImport(file, { data }, nowMs)).toBe(3);
    expect(complaint).toContain('[store/id-reused]');
    expect(await runExport({ data, to: join(data, 'out') }, nowMs)).toBe(0);
    expect(entriesIn(join(data, 'out'))).toHaveLength(3);
  });

  it('refuses entries of another organisation, files of another kind, and a folder in use', async () => {
    const [data, file] = [fresh(), join(root, 'other.csv')];
    writeFileSync(file, entriesCsv(workedPatientKnee().slice(0, 1)));
    expect(await refusalOf(runImport(file, { data }, nowMs))).toBe('cli/other-organisation');
    writeFileSync(join(root, 'notes.txt'), 'hello');
    expect(await refusalOf(runImport(join(root, 'notes.txt'), { data }, nowMs))).toBe('cli/unknown-file');
    writeFileSync(join(data, 'serve.lock'), `${process.ppid}\n`);
    expect(await refusalOf(runImport(wardFolder(), { data }, nowMs))).toBe('cli/data-in-use');
  });
});

describe('export', () => {
  it('writes the versions of protocols too, as they are kept and as DMN', async () => {
    const data = fresh();
    await runImport(wardFolder(), { data }, nowMs);
    const path = join(data, 'protocols.json');
    const starter = starterFor('comfort');
    if (!starter) throw new Error('no starter');
    const dmn = orThrow(await writeDmn(modelOf(starter)));
    const book = await fileProtocols(path);
    await book.add([
      {
        act: 'sent',
        id: 'comfort',
        version: 2,
        ward: 'w',
        dmn,
        contentDigest: createHash('sha256').update(dmn).digest('hex'),
        by: { person: 'n', name: 'N', role: 'nurse', at: '2026-05-12T08:00:00Z' },
      },
    ]);
    const to = join(data, 'out');
    expect(await runExport({ data, to, json: true }, nowMs)).toBe(0);
    expect(readFileSync(join(to, 'protocols', 'comfort-2.dmn'), 'utf8')).toBe(dmn);
    expect((await fileProtocols(join(to, 'protocols.json'))).versions()).toEqual(book.versions());
  });

  it('writes everything out so that another folder takes it in and gives the same again', async () => {
    const [first, second, third] = [fresh(), fresh(), fresh()];
    await runImport(wardFolder(), { data: first }, nowMs);
    const to = join(first, 'out');
    expect(await runExport({ data: first, to, json: true }, nowMs)).toBe(0);
    const entries = entriesIn(to);
    expect(entries).toHaveLength(6);
    expect(orThrow(readEntriesCsv(readFileSync(join(to, 'entries.csv'), 'utf8'), nowMs)).entries).toEqual(
      entries,
    );
    await runImport(to, { data: second }, nowMs);
    await runExport({ data: second, to: join(second, 'out') }, nowMs);
    expect(entriesIn(join(second, 'out'))).toEqual(entries);
    await runImport(join(to, 'entries.csv'), { data: third }, nowMs);
    await runExport({ data: third, to: join(third, 'out') }, nowMs);
    expect(entriesIn(join(third, 'out'))).toEqual(entries);
    expect(
      readFileSync(join(to, 'wardlog', 'w', 'log.ndjson'), 'utf8')
        .trim()
        .split('\n')
        .map((row) => JSON.parse(row) as object),
    ).toEqual(lines);
    for (const name of readdirSync(join(to, 'fhir')).filter((one) => one !== 'code-system.json')) {
      expect(checkBundle(JSON.parse(readFileSync(join(to, 'fhir', name), 'utf8')) as Bundle)).toEqual([]);
    }
  });

  it('refuses a folder that holds something, and a data folder without a record', async () => {
    expect(await refusalOf(runExport({ data: fresh(), to: fresh() }, nowMs))).toBe('cli/no-record');
    expect(await refusalOf(runExport({ data: fresh(), to: wardFolder() }, nowMs))).toBe('cli/not-empty');
  });
});

describe('report', () => {
  it('prints each kind of sheet from a ward log', async () => {
    const ward = wardFolder();
    for (const kind of ['ward', 'handover', 'patient', 'unit'] as const) {
      const pdf = join(root, `${kind}.pdf`);
      expect(await runReport(kind, ward, { pdf, data: root, days: '30', patient: 'w-P01' }, nowMs)).toBe(0);
      expect(readFileSync(pdf).subarray(0, 8).toString('latin1')).toBe('%PDF-1.7');
    }
  });

  it('says with the unit’s figures how often the estimate was right, as counts that fit together', async () => {
    out = '';
    const options = { pdf: join(root, 'figures.pdf'), data: root, days: '30', json: true };
    expect(await runReport('unit', wardFolder(), options, nowMs)).toBe(0);
    const { estimateHeld } = JSON.parse(out) as { estimateHeld: string };
    const [within, of] = (/^(\d+) of (\d+)$/.exec(estimateHeld) ?? []).slice(1).map(Number);
    expect(of).toBeGreaterThan(0);
    expect(within).toBeLessThanOrEqual(of ?? 0);
  });

  it('prints from a data folder as it was known at an instant', async () => {
    const data = fresh();
    await runImport(wardFolder(), { data }, nowMs);
    for (const [at, items] of [
      ['2026-05-12T08:30:00+02:00', 1],
      ['2026-05-11T08:00:00+02:00', 0],
    ] as const) {
      out = '';
      expect(
        await runReport(
          'handover',
          undefined,
          { pdf: join(data, 'sheet.pdf'), data, days: '30', at, json: true },
          nowMs,
        ),
      ).toBe(0);
      expect((JSON.parse(out) as { patients: number }).patients, at).toBe(items);
    }
  });

  it('refuses a ward or a patient that is not there', async () => {
    const ward = wardFolder();
    const options = { pdf: join(root, 'none.pdf'), data: root, days: '30' };
    expect(await refusalOf(runReport('ward', ward, { ...options, ward: 'x' }, nowMs))).toBe(
      'cli/no-such-ward',
    );
    expect(await refusalOf(runReport('patient', ward, { ...options, patient: 'x' }, nowMs))).toBe(
      'cli/no-such-patient',
    );
    expect(existsSync(options.pdf)).toBe(false);
  });
});

describe('exit codes of the command itself', () => {
  const main = fileURLToPath(new URL('../main.ts', import.meta.url));
  const run = (...words: readonly string[]): number | null =>
    spawnSync(process.execPath, [main, ...words], { encoding: 'utf8' }).status;

  it('are 0 answered, 2 bad usage, 3 refused', () => {
    expect([
      run('import', wardFolder(), '--check'),
      run('report', 'tides', '--pdf', 'x.pdf'),
      run('import', wardFolder([{ id: 'x' }]), '--check'),
    ]).toEqual([0, 2, 3]);
  });
});

describe.skipIf(!samples)('the three public wards (needs EBBLINE_SAMPLES)', () => {
  it('are taken in whole, 2,482 lines', async () => {
    const data = fresh();
    let read = 0;
    for (const ward of ['pub-1', 'pub-2', 'pub-3']) {
      out = '';
      expect(await runImport(`${samples}/wards/public/${ward}`, { data, json: true }, nowMs)).toBe(0);
      const summary = JSON.parse(out) as { lines: number; refused: number; entries: number; kept: number };
      expect([summary.refused, summary.kept]).toEqual([0, summary.entries]);
      read += summary.lines;
    }
    expect(read).toBe(2482);
  });

  it('come out again, line for line', async () => {
    const data = fresh();
    await runImport(`${samples}/wards/public/pub-3`, { data }, nowMs);
    out = '';
    expect(await runExport({ data, to: join(data, 'out'), json: true }, nowMs)).toBe(0);
    expect(JSON.parse(out)).toMatchObject({
      patients: 24,
      wardLogs: [{ lines: 830 }],
      leftOutOfWardLogs: {},
    });
    expect(
      orThrow(readEntriesCsv(readFileSync(join(data, 'out', 'entries.csv'), 'utf8'), nowMs)).entries,
    ).toEqual(entriesIn(join(data, 'out')));
  });
});
