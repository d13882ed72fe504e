/**
 * The simulation by hand.
 *
 *     node faults/simulation/simulate.ts --seed 42             tells the story of one history
 *     node faults/simulation/simulate.ts --from 1 --count 2000  lives many; the first broken promise ends it
 *
 * Exit code 0 when every promise was held, 1 when one was broken. The last line is JSON.
 */
import { parseArgs } from 'node:util';
import { live, type Told } from './history.ts';
import { noCounts, type Counts } from './ledger.ts';

const { values } = parseArgs({
  options: {
    seed: { type: 'string' },
    from: { type: 'string', default: '1' },
    count: { type: 'string', default: '100' },
    every: { type: 'string', default: '0' },
  },
});

async function lived(seed: number, say?: (line: string) => void): Promise<Told | Error> {
  try {
    return await live(seed, say);
  } catch (problem) {
    return problem as Error;
  }
}

const out = (line: string): void => void process.stdout.write(`${line}\n`);
/** A promise that nobody waited for and that failed is a fault of the product: the program would have died of it. */
let unhandled: unknown;
process.on('unhandledRejection', (problem) => (unhandled ??= problem));

const one = values.seed === undefined ? undefined : Number(values.seed);
const from = one ?? Number(values.from);
const count = one === undefined ? Number(values.count) : 1;
const totals: Counts & { entries: number; happened: number; slowestEqualMs: number } = {
  ...noCounts(),
  entries: 0,
  happened: 0,
  slowestEqualMs: 0,
};
const began = process.cpuUsage();
let broken: string | undefined;
let seed = from;
for (; seed < from + count && broken === undefined; seed += 1) {
  const told = await lived(seed, one === undefined ? undefined : out);
  if (unhandled !== undefined)
    broken = `a failure that nobody caught: ${String((unhandled as Error).stack ?? unhandled)}`;
  else if (told instanceof Error) broken = told.name === 'Error' ? told.message : String(told.stack);
  else {
    for (const name of Object.keys(noCounts()) as (keyof Counts)[]) totals[name] += told.counts[name];
    totals.entries += told.entries;
    totals.happened += told.happened;
    totals.slowestEqualMs = Math.max(totals.slowestEqualMs, told.equalAfterMs);
  }
  const every = Number(values.every);
  if (every > 0 && (seed - from + 1) % every === 0) out(`${seed - from + 1} histories`);
}
const { user, system } = process.cpuUsage(began);
const cpuS = (user + system) / 1e6;
out(
  JSON.stringify({
    ...(broken === undefined ? {} : { seed: seed - 1, broken }),
    histories: seed - from - (broken === undefined ? 0 : 1),
    ...totals,
    perCpuSecond: Math.round((seed - from) / cpuS),
  }),
);
process.exit(broken === undefined ? 0 : 1);
