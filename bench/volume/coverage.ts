/**
 * How often the 90 % intervals hold the truth, over many phantoms of the mix, on every core. The mix is made here and
 * says nothing about real people; it is not the one that the tracer's peers are shown.
 */
import { availableParallelism } from 'node:os';
import { Worker } from 'node:worker_threads';
import { phantomFeatures } from '../../packages/simulate/src/phantoms/index.ts';
import { accuracyHead, accuracyRow, boundsText, coverageOf, shareText, type Scored } from './accuracy.ts';
import type { PhantomScored } from './phantom-worker.ts';
import { figure, say, tableText } from './table.ts';

/** A missed bladder of this size is told by itself. */
const missedFromMl = 100;

/** Phantoms 0 to count − 1, each handed to whichever worker is free. */
async function scorePhantoms(count: number): Promise<readonly PhantomScored[]> {
  const found: PhantomScored[] = [];
  let next = 0;
  const workers = Array.from(
    { length: Math.min(count, availableParallelism()) },
    () => new Worker(new URL('./phantom-worker.ts', import.meta.url)),
  );
  try {
    await Promise.all(
      workers.map(
        (worker) =>
          new Promise<void>((resolve, reject) => {
            const hand = (): void => {
              if (next >= count) resolve();
              else {
                worker.postMessage(next);
                next += 1;
              }
            };
            worker.on('message', (scored: PhantomScored) => {
              found.push(scored);
              progress(found.length, count);
              hand();
            });
            worker.on('error', reject);
            hand();
          }),
      ),
    );
  } finally {
    await Promise.all(workers.map((worker) => worker.terminate()));
  }
  return found;
}

function progress(done: number, of: number): void {
  if (process.stderr.isTTY) process.stderr.write(`\r  ${done} of ${of} phantoms${done === of ? '\n' : ''}`);
}

const coverageHead = [
  '',
  'sets',
  'intervals that hold the truth',
  'mean width %',
  'mean width mL',
  'declined',
];
function coverageRow(name: string, all: readonly Scored[]): readonly string[] {
  const found = coverageOf(all);
  return [
    name,
    String(all.length),
    found.given === 0 ? 'none given' : shareText(found.held, found.given),
    figure(found.widthPerCent, 0),
    figure(found.widthMl, 0),
    String(all.filter(({ claim }) => claim.volumeMl === undefined).length),
  ];
}

/** Prints the tables; false when coverage is outside the aim. */
export async function coverageBench(
  count: number,
  aim: { readonly low: number; readonly high: number },
): Promise<boolean> {
  const all = await scorePhantoms(count);
  const withBladder = all.filter(({ truth }) => truth.volumeMl > 0);
  const by = (test: (one: PhantomScored) => boolean): readonly PhantomScored[] => all.filter(test);
  const cutOrHidden = by(({ features }) =>
    features.some((one) => one.startsWith('partly-outside') || one.endsWith('-shadow')),
  );
  const layouts = [...new Set(all.map(({ layout }) => layout))].toSorted();
  say(tableText(accuracyHead, [accuracyRow(`${count} phantoms`, all)]));
  say('');
  say(
    tableText(coverageHead, [
      coverageRow('all with a bladder', withBladder),
      ...layouts.map((layout) =>
        coverageRow(
          layout,
          withBladder.filter((one) => one.layout === layout),
        ),
      ),
      coverageRow(
        'answered by a volume',
        withBladder.filter(({ claim }) => claim.answer === 'volume'),
      ),
      coverageRow(
        'answered by at least',
        withBladder.filter(({ claim }) => claim.answer === 'at-least'),
      ),
      ...phantomFeatures
        .filter((feature) => feature !== 'empty')
        .map((feature) =>
          coverageRow(
            `· ${feature}`,
            withBladder.filter(({ features }) => features.includes(feature)),
          ),
        )
        .filter(([, sets]) => sets !== '0'),
    ]),
  );
  say('');
  say(`  bounds of "at least": ${boundsText(withBladder)}`);
  const above = withBladder.filter(({ claim, truth }) => truth.volumeMl < (claim.loMl ?? 0)).length;
  const below = withBladder.filter(({ claim, truth }) => truth.volumeMl > (claim.hiMl ?? Infinity)).length;
  say(`  intervals wholly above the truth ${above}, wholly below it ${below}`);
  const missed = withBladder.filter(
    ({ claim, truth }) => claim.answer === 'none-seen' && truth.volumeMl >= missedFromMl,
  );
  say(`  none seen where there are ${missedFromMl} mL or more: ${missed.length}`);
  const answers = ['volume', 'at-least', 'none-seen', 'refused'] as const;
  const count4 = (list: readonly Scored[]): string =>
    answers
      .map((answer) => `${answer} ${list.filter(({ claim }) => claim.answer === answer).length}`)
      .join(', ');
  say(`  partly outside or in shadow, ${cutOrHidden.length}: ${count4(cutOrHidden)}`);
  const empty = by(({ truth }) => truth.volumeMl === 0);
  say(`  no bladder, ${empty.length}: ${count4(empty)}`);
  for (const one of empty.filter(({ claim }) => (claim.volumeMl ?? 0) > 0))
    say(
      `    phantom ${one.index} (${one.features.join(', ')}): ${figure(one.claim.volumeMl ?? 0)} mL claimed`,
    );
  const { held, given } = coverageOf(withBladder);
  const share = held / given;
  const good = share >= aim.low && share <= aim.high;
  say(
    `  90 % intervals hold the truth in ${shareText(held, given)}; aim ${100 * aim.low} to ${100 * aim.high} %${good ? '' : '  MISSED'}`,
  );
  return good;
}
