/**
 * How fast a whole record is walked and proved, against a bare SHA-256 chain over texts of the same length in memory:
 * alternately, in one process, by processor time. Prints ratios; a record is one row of the audit, with its entry and its
 * outbox row where it has them.
 *
 *     node bench/verify.ts [thousands of records] [rounds]
 *
 * Peer      `crypto.hash` in one call for each link, nothing read and nothing compared: the floor
 * Aim       300,000 records a second on an idle machine (S-server-measuring); the ratio is what can be compared
 */
import { hash } from 'node:crypto';
import { mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { openRecordFile, openSqliteStore, walkRecord } from '../packages/store/src/sqlite/index.ts';
import { entryMaker, organisation } from '../packages/store/src/testing/entries.ts';

const thousands = Math.max(1, Math.min(1_000, Number(process.argv[2] ?? 60)));
const rounds = Math.max(3, Math.min(25, Number(process.argv[3] ?? 7)));
const batch = 1_000;
/** A link of the audit is a text of about so many characters. */
const linkLength = 290;

const folder = mkdtempSync(join(tmpdir(), 'ebbline-verify-'));
const path = join(folder, 'record.sqlite');
const store = openSqliteStore({ path, organisation });
const make = entryMaker(1);
// Two thirds entries, one third looks, as a busy ward has them.
for (let thousand = 0; thousand < thousands; thousand += 1) {
  if (thousand % 3 < 2) {
    await store.append(
      Array.from({ length: batch }, (_, index) => make.voided(`p${index % 400}`)),
      { receivedAt: '2026-05-12T08:00:00.000Z', actor: 'nurse-1' },
    );
    continue;
  }
  await store.noteAll(
    Array.from({ length: batch }, (_, index) => ({
      at: '2026-05-12T08:00:00.000Z',
      actor: `nurse-${index % 50}`,
      action: 'viewed' as const,
      subject: 'patient',
      patient: `p${index % 400}`,
      noteId: `${thousand}-${index}`,
      detail: { tablet: 'tablet-1', actorWards: ['harbour-3'] },
    })),
  );
}
await store.close();

const records = thousands * batch;
const spentMs = (work: () => void): number => {
  const before = process.cpuUsage();
  work();
  const { user, system } = process.cpuUsage(before);
  return (user + system) / 1_000;
};
const walkMs: number[] = [];
const ratios: number[] = [];
for (let round = 0; round <= rounds; round += 1) {
  const bare = spentMs(() => {
    const text = 'x'.repeat(linkLength - 64);
    let chain = '0'.repeat(64);
    for (let record = 0; record < records; record += 1) chain = hash('sha256', chain + text);
  });
  const file = openRecordFile(path);
  const own = spentMs(() => {
    const walked = walkRecord(file.database);
    if ('what' in walked || walked[0]?.auditRows !== records) throw new Error('the record did not hold');
  });
  file.close();
  // The first round warms both up.
  if (round === 0) continue;
  walkMs.push(own);
  ratios.push(own / bare);
}
const median = (values: readonly number[]): number =>
  values.toSorted((a, b) => a - b)[Math.floor(values.length / 2)] as number;
process.stdout.write(
  `walk: ${Math.round(records / median(walkMs))} thousand records a second of processor time; ${median(ratios).toFixed(1)} times a bare chain (${Math.min(...ratios).toFixed(1)} to ${Math.max(...ratios).toFixed(1)} over ${ratios.length} pairs)\n`,
);
rmSync(folder, { recursive: true, force: true });
