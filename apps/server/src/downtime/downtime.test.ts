// Proves     a round prints each ward's whole set under its local time, a set is there whole or not at all, old sets go, a place
//            that can't be written is said and tried again, and nothing of it stops the server
// Published  none
// Tolerance  exact
import { mkdirSync, mkdtempSync, readdirSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterEach, describe, expect, it } from 'vitest';
import { hourMs, minuteMs } from '@ebbline/core/quantity';
import { wardFactsOf } from '@ebbline/core/facts';
import { fixedDirectory } from '../directory-book.ts';
import { memoryProtocols } from '../protocol-book.ts';
import { directory as wholeDirectory, startMs } from '../testing/world.ts';
import { createDowntime, type Downtime } from './downtime.ts';
import { setName, wardFolder, writeSet } from './write-set.ts';

const directory = { ...wholeDirectory, wards: wholeDirectory.wards.slice(0, 1) };
const folders: string[] = [];
const open: Downtime[] = [];
afterEach(async () => {
  for (const one of open.splice(0)) await one.close();
  for (const folder of folders.splice(0)) rmSync(folder, { recursive: true, force: true });
});
const newFolder = (): string => {
  const folder = mkdtempSync(join(tmpdir(), 'ebbline-prints-'));
  folders.push(folder);
  return folder;
};
const downtimeIn = async (folder: string, keep = 24): Promise<Downtime> => {
  const made = createDowntime({
    folder,
    keep,
    view: {
      wards: async (nowMs) =>
        directory.wards.map((ward) => ({ ward, facts: wardFactsOf(ward.id, nowMs, []) })),
    },
    directory: fixedDirectory(directory),
    protocols: await memoryProtocols(),
  });
  open.push(made);
  return made;
};

describe('the hourly print', () => {
  it('puts a whole set for each ward under its local time, once an hour', async () => {
    const folder = newFolder();
    const downtime = await downtimeIn(folder);
    await downtime.tick(startMs);
    await downtime.tick(startMs + 30 * minuteMs);
    const ward = join(folder, 'harbour-3');
    expect(readdirSync(ward)).toEqual(['2026-05-12T09-00-00+0100']);
    const sheets = readdirSync(join(ward, '2026-05-12T09-00-00+0100'));
    expect(sheets).toEqual(['1-board.pdf', '2-due-list.pdf', '4-form-letter.pdf', '4-form.pdf']);
    for (const sheet of sheets)
      expect(
        readFileSync(join(ward, '2026-05-12T09-00-00+0100', sheet))
          .subarray(0, 5)
          .toString(),
      ).toBe('%PDF-');
    expect(downtime.status()).toEqual({ folder, wards: 1, printedAtMs: startMs });
    await downtime.tick(startMs + hourMs);
    expect(readdirSync(ward)).toHaveLength(2);
  });

  it('says why a place can’t be written, keeps the age of the last round, and tries again after some minutes', async () => {
    const folder = newFolder();
    const downtime = await downtimeIn(folder);
    await downtime.tick(startMs);
    rmSync(join(folder, 'harbour-3'), { recursive: true });
    // A file where the ward's folder should be: no right of the account gets around that.
    writeFileSync(join(folder, 'harbour-3'), 'in the way');
    const later = startMs + hourMs;
    await downtime.tick(later);
    expect(downtime.status()).toMatchObject({
      printedAtMs: startMs,
      failure: { code: expect.stringMatching(/^(keep|downtime)\//), atMs: later },
    });
    rmSync(join(folder, 'harbour-3'));
    await downtime.tick(later + 2 * minuteMs);
    expect(downtime.status().failure).toBeDefined();
    await downtime.tick(later + 5 * minuteMs);
    expect(downtime.status()).toEqual({ folder, wards: 1, printedAtMs: later + 5 * minuteMs });
  });
});

describe('a set on the disk', () => {
  const sheet = (text: string) => ({ name: '1-board.pdf', bytes: new TextEncoder().encode(text) });
  const nameAt = (hours: number): string => setName(startMs + hours * hourMs, 'Europe/Lisbon');

  it('is there whole or not at all: what broke off has no name, and is gone after the next', async () => {
    const folder = newFolder();
    const to = { folder, ward: 'harbour-3', keep: 3 };
    const two = [sheet('a'), { ...sheet('b'), name: '../escape/of-a-sheet.pdf' }];
    await expect(writeSet({ ...to, name: nameAt(0) }, two)).rejects.toThrow('ENOENT');
    expect(readdirSync(join(folder, 'harbour-3'))).toEqual([]);
    // As a killed process leaves it.
    mkdirSync(join(folder, 'harbour-3', `.${nameAt(1)}-77`));
    await writeSet({ ...to, name: nameAt(2) }, [sheet('c')]);
    expect(readdirSync(join(folder, 'harbour-3'))).toEqual([nameAt(2)]);
  });

  it('[H11-whole-print] has no name while it is written', async () => {
    const folder = newFolder();
    const seen: string[] = [];
    const watching = {
      name: '1-board.pdf',
      get bytes() {
        seen.push(...readdirSync(join(folder, 'harbour-3')));
        return new TextEncoder().encode('a');
      },
    };
    await writeSet({ folder, ward: 'harbour-3', name: nameAt(0), keep: 3 }, [watching]);
    expect(seen).toEqual([expect.stringMatching(/^\./)]);
    expect(readdirSync(join(folder, 'harbour-3'))).toEqual([nameAt(0)]);
  });

  it('leaves so many as are kept, the newest', async () => {
    const folder = newFolder();
    for (let hour = 0; hour < 5; hour += 1)
      await writeSet({ folder, ward: 'harbour-3', name: nameAt(hour), keep: 3 }, [sheet(String(hour))]);
    expect(readdirSync(join(folder, 'harbour-3'))).toEqual([2, 3, 4].map(nameAt));
    // Printed twice in one second, by two servers: the first stands.
    await writeSet({ folder, ward: 'harbour-3', name: nameAt(4), keep: 3 }, [sheet('again')]);
    expect(readFileSync(join(folder, 'harbour-3', nameAt(4), '1-board.pdf'), 'utf8')).toBe('4');
  });

  it('stays inside the folder whatever a ward is called', () => {
    for (const ward of ['..', '../up', 'a/b', '.hidden', 'C:\\x'])
      expect(wardFolder(ward)).toMatch(/^[\w%()!~*'-]+$/);
  });
});
