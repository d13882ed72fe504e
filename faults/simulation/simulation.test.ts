// Proves     over thousands of made-up histories with every fault at once: what a tablet called saved or the server called
//            kept stands in the record once, word for word, under the patient it belongs to; one owner at every moment,
//            in each tablet's own view and in the merged record; all tablets equal within two minutes after the last
//            fault; the audit chain verifies
// Method     one thread, made-up time, network and disk around the product's own sync, replica, routes, live board,
//            stores and fold; `npm run long` lives ten times as many
// Tolerance  exact
import { spawn } from 'node:child_process';
import { fileURLToPath } from 'node:url';
import { describe, expect, it } from 'vitest';
import { live } from './history.ts';
import { noCounts, type Counts } from './ledger.ts';

const long = process.env['EBBLINE_LONG'] === '1';
const histories = long ? 20_000 : 2000;
const command = fileURLToPath(new URL('./simulate.ts', import.meta.url));

interface Summary extends Counts {
  readonly histories: number;
  readonly seed?: number;
  readonly broken?: string;
  readonly slowestEqualMs: number;
}

function simulated(from: number, count: number): Promise<Summary> {
  return new Promise((resolve, reject) => {
    const child = spawn(process.execPath, [command, '--from', String(from), '--count', String(count)], {
      stdio: ['ignore', 'pipe', 'inherit'],
    });
    let text = '';
    child.stdout.setEncoding('utf8');
    child.stdout.on('data', (part: string) => (text += part));
    child.on('error', reject);
    child.on('close', () => resolve(JSON.parse(text.trim().split('\n').at(-1) ?? '') as Summary));
  });
}

describe('a made-up hospital in which everything fails', () => {
  it(
    `holds every promise over ${histories} histories`,
    async () => {
      const half = histories / 2;
      const both = await Promise.all([simulated(1, half), simulated(1 + half, half)]);
      for (const { seed, broken } of both)
        expect(broken, `node faults/simulation/simulate.ts --seed ${seed}`).toBeUndefined();
      for (const one of both) {
        expect(one.histories).toBe(half);
        // Each kind of fault and of act happened in earnest, else nothing was proved.
        for (const name of Object.keys(noCounts()) as (keyof Counts)[])
          expect(one[name], name).toBeGreaterThan(half / 20);
      }
    },
    long ? 7_200_000 : 600_000,
  );

  it('lives the same history again from the same number', async () => {
    const stories = [[], [], []] as string[][];
    for (const [index, seed] of [77, 77, 78].entries())
      await live(seed, (line) => void stories[index]?.push(line));
    expect(stories[0]?.length).toBeGreaterThan(50);
    expect(stories[1]).toEqual(stories[0]);
    expect(stories[2]).not.toEqual(stories[0]);
  });
});
