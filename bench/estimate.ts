/**
 * The living estimate beside a linear filter of statsmodels: what is in, how fast it fills and when the limit is passed, for a
 * patient with 100 entries; and our own linear filter beside the same on the same series, held to each other.
 *
 *     node bench/estimate.ts [rounds]
 *
 * Peer      statsmodels' local linear trend, filter and smoother, in the same run (Python named by EBBLINE_PYTHON, else
 *           /usr/bin/python3, else python3); missing: says so and fails
 * Aim       the linear filter and smoother at most 0.5 of the peer's time, equal to 1e-6; the cloud, which does far more, is
 *           printed as a ratio beside it
 */
import { spawnSync } from 'node:child_process';
import { existsSync } from 'node:fs';
import path from 'node:path';
import {
  estimateAt,
  filterSeries,
  priorFor,
  smoothSeries,
  type FillingObservation,
  type SeriesStep,
} from '../packages/core/src/filling/index.ts';
import { hourMs, minuteMs, orThrow, seededRandom } from '../packages/core/src/quantity/index.ts';

const rounds = Math.max(9, Math.min(60, Number(process.argv[2] ?? 21)));
const aim = 0.5;
const random = seededRandom(17);
const count = 100;

/** Readings, voids, drinks, infusions: an entry about each quarter of an hour. */
const observations: FillingObservation[] = [
  { kind: 'covariate', atMs: 0, name: 'watch-opens', state: 'open' },
];
let atMs = 0;
for (let entry = 1; entry < count; entry += 1) {
  atMs += (8 + random.below(15)) * minuteMs;
  const kinds: readonly FillingObservation[] = [
    { kind: 'reading', atMs, volumeMl: 120 + random.below(300), bound: 'exact', doubts: [] },
    { kind: 'void', atMs, measured: true, volumeMl: 60 + random.below(200) },
    { kind: 'intake', atMs, volumeMl: 200, overMin: 10, route: 'oral' },
    { kind: 'intake', atMs, volumeMl: 500, overMin: 240, route: 'iv' },
    { kind: 'void', atMs, measured: false, lowMl: 50, highMl: 350 },
  ];
  observations.push(kinds[entry % kinds.length] as FillingObservation);
}
const prior = priorFor('after-surgery', { capacityMl: 600 });
let asked = 0;
const cloud = (): void => {
  // Another minute each time: nothing is answered from memory.
  asked += 1;
  orThrow(
    estimateAt({
      observations,
      prior,
      atMs: atMs + hourMs / 2 + asked * minuteMs,
      limitMl: 500,
      horizonMin: 1440,
    }),
  );
};

/** The linear case: a level with a slope, each wandering, seen with an error. */
const levels = Array.from({ length: count }, (_, place) => 150 + 4 * place + 30 * random.normal());
const noise = { contentVariancePerH: 25, rateVariancePerH: 4, pullPerH: 0, levelMlPerH: 0 };
const start = { contentMl: 0, rateMlPerH: 0, contentVariance: 1e6, covariance: 0, rateVariance: 1e6 };
const errorVariance = 900;
const steps: readonly SeriesStep[] = levels.map((contentMl, place) => ({
  hours: place === 0 ? 0 : 1,
  noise,
  seen: { contentMl, variance: errorVariance },
}));
const linear = (): readonly number[] => {
  const filtered = filterSeries(start, steps);
  return smoothSeries(steps, filtered).map((one) => one.contentMl);
};

const cpuMs = (work: () => unknown, times: number): number => {
  const before = process.cpuUsage();
  for (let one = 0; one < times; one += 1) work();
  const { user, system } = process.cpuUsage(before);
  return (user + system) / 1000 / times;
};

const python = [process.env['EBBLINE_PYTHON'], '/usr/bin/python3', 'python3'].find(
  (one) => one !== undefined && (one === 'python3' || existsSync(one)),
) as string;
const peer = spawnSync(python, [path.join(import.meta.dirname, 'estimate/peer.py'), String(rounds)], {
  input: JSON.stringify({ levels, errorVariance, noise, start }),
  encoding: 'utf8',
});
if (peer.status !== 0) {
  console.log(
    'statsmodels is missing: apt-get install python3-statsmodels, or name a Python by EBBLINE_PYTHON',
  );
  if (peer.stderr) console.log(peer.stderr.trim().split('\n').at(-1));
  process.exit(1);
}
const told = JSON.parse(peer.stdout) as {
  readonly cpuMs: readonly number[];
  readonly smoothed: readonly number[];
};

for (let warming = 0; warming < 150; warming += 1) cloud();
cpuMs(linear, 400);
const clouds = Array.from({ length: rounds }, () => cpuMs(cloud, 10));
const linears = Array.from({ length: rounds }, () => cpuMs(linear, 50));
const middle = (values: readonly number[]): number =>
  values.toSorted((a, b) => a - b)[Math.floor(values.length / 2)] ?? Number.NaN;
const ours = linear();
const apart = Math.max(
  ...ours.map((one, place) => Math.abs(one - (told.smoothed[place] as number)) / Math.abs(one)),
);
const ratio = middle(linears) / middle(told.cpuMs);
console.log(
  `${count} entries, filter and forecast: ${middle(clouds).toFixed(2)} ms of processor on this machine, ${(middle(clouds) / middle(told.cpuMs)).toFixed(2)} of statsmodels' linear filter and smoother over ${count} steps`,
);
console.log(
  `the linear case: ${ratio.toFixed(4)} of statsmodels' time (aim at most ${aim}), apart by at most ${apart.toExponential(1)} of a value`,
);
if (!(ratio <= aim && apart < 1e-6)) process.exitCode = 1;
