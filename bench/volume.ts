/**
 * Volume from images: how near the truth, how honest its interval, at what cost. Ours beside three ways of scikit-image
 * on the same sets, set by set in turn, each read once beforehand; processor time (user and system) as each process
 * tells its own. Then intervals over phantoms, closed forms, and the cost of one moved vertex.
 *
 *     node bench/volume.ts [--phantoms 500] [--skip-phantoms] [--sets 32]
 *
 * Sets      `ultrasound/{public,practice}` of the folder that EBBLINE_SAMPLES names, else of ../shared/data
 * Peers     scikit-image (bench/volume/peer.py: threshold and region, morphological Chan-Vese, random walker,
 *           find_contours); d3-contour
 * Aim       contour and moment at least 5 times as fast as either; intervals hold the truth in 85 to 95 %; closed forms
 *           within 0.1 % (ball, ellipsoid) and 0.5 % (uneven, 12 planes); a moved vertex within 16 ms (S-bench-volume)
 */
import { existsSync } from 'node:fs';
import { fileURLToPath } from 'node:url';
import { traceBladder } from '../packages/imaging/src/index.ts';
import {
  accuracyHead,
  accuracyRow,
  boundsText,
  claimOf,
  coverageOf,
  coverageText,
  type Claim,
  type Scored,
} from './volume/accuracy.ts';
import { closedFormsBench, editingBench } from './volume/closed-forms.ts';
import { contourBench } from './volume/contour.ts';
import { coverageBench } from './volume/coverage.ts';
import { howToInstall, startPeer, ways, type Peer, type Way } from './volume/peer.ts';
import { readSamples, type SampleSet } from './volume/sets.ts';
import { cpuMs, middle, say, spread, tableText } from './volume/table.ts';

const aims = {
  contour: 5,
  coverage: { low: 0.85, high: 0.95 },
  closedForms: { smooth: 0.1, uneven: 0.5 },
  editing: { ms: 16, moves: 120 },
};

const given = (name: string, otherwise: number): number => {
  const at = process.argv.indexOf(`--${name}`);
  const value = at < 0 ? otherwise : Number(process.argv[at + 1]);
  if (Number.isInteger(value) && value > 0) return value;
  process.stderr.write(`--${name} takes a whole number above 0.\n`);
  process.exit(2);
};
const phantoms = given('phantoms', 500);
const mostSets = given('sets', 1000);
const samples =
  process.env['EBBLINE_SAMPLES'] ?? fileURLToPath(new URL('../../shared/data', import.meta.url));

type Who = 'ours' | Way;
const names: Readonly<Record<Who, string>> = {
  ours: 'ours',
  threshold: 'threshold and region',
  'chan-vese': 'morphological Chan-Vese',
  walker: 'random walker',
};
interface Run {
  readonly who: readonly Who[];
  readonly scored: Readonly<Record<Who, Scored[]>>;
  /** Processor time a plane, ms, by set. */
  readonly planeMs: Readonly<Record<Who, number[]>>;
  /** The same for ours in the pass before. */
  readonly firstPassMs: number[];
  ownWallMs: number;
  planes: number;
}

async function runSets(sets: readonly SampleSet[], peer: Peer | undefined): Promise<Run> {
  const who: readonly Who[] = peer ? ['ours', ...ways] : ['ours'];
  const run: Run = {
    who,
    scored: { ours: [], threshold: [], 'chan-vese': [], walker: [] },
    planeMs: { ours: [], threshold: [], 'chan-vese': [], walker: [] },
    firstPassMs: [],
    ownWallMs: 0,
    planes: 0,
  };
  for (const { folder } of sets) await peer?.read(folder);
  const take = async (one: SampleSet, by: Who): Promise<{ claim: Claim; ms: number; wallMs: number }> => {
    const from = performance.now();
    if (by === 'ours') {
      const fromCpu = cpuMs();
      const result = traceBladder(one.set);
      return { claim: claimOf(result), ms: cpuMs() - fromCpu, wallMs: performance.now() - from };
    }
    if (!peer) throw new Error('no peer');
    const { volumeMl, cpuMs: ms } = await peer.volume(one.folder, by);
    return { claim: { answer: volumeMl > 0 ? 'volume' : 'none-seen', volumeMl }, ms, wallMs: 0 };
  };
  // One whole pass first: the engine is still compiling in it, as in the first set that a fresh process sees. Both are told.
  for (const one of sets) run.firstPassMs.push((await take(one, 'ours')).ms / one.set.planes.length);
  const [warming] = sets;
  if (warming) for (const by of who) await take(warming, by);
  for (const [index, one] of sets.entries()) {
    if (process.stderr.isTTY) process.stderr.write(`\r  set ${index + 1} of ${sets.length} `);
    run.planes += one.set.planes.length;
    for (const by of who) {
      const { claim, ms, wallMs } = await take(one, by);
      run.scored[by].push({ truth: one.truth, claim });
      run.planeMs[by].push(ms / one.set.planes.length);
      run.ownWallMs += wallMs;
    }
  }
  if (process.stderr.isTTY) process.stderr.write('\r');
  return run;
}

function tellRun(sets: readonly SampleSet[], run: Run): void {
  for (const group of ['public', 'practice', undefined] as const) {
    const picked = (who: Who): Scored[] =>
      run.scored[who].filter((_, index) => group === undefined || sets[index]?.group === group);
    if (picked('ours').length === 0) continue;
    say(
      tableText(
        [`${group ?? 'all'}, ${picked('ours').length} sets`, ...accuracyHead.slice(1)],
        run.who.map((who) => accuracyRow(names[who], picked(who))),
      ),
    );
    say('');
  }
  const own = run.scored.ours.filter(({ truth }) => truth.volumeMl > 0);
  say(`  our 90 % intervals hold the truth: ${coverageText(coverageOf(own))}`);
  say(`    answered by a volume:   ${coverageText(coverageOf(own, 'volume'))}`);
  say(`    answered by at least:   ${coverageText(coverageOf(own, 'at-least'))}`);
  say(`  bounds of "at least": ${boundsText(own)}`);
  say('');
  // Ratios set by set: a slow moment of the machine hits neighbours alike.
  const fastest = run.who
    .filter((who) => who !== 'ours')
    .toSorted((a, b) => middle(run.planeMs[a]) - middle(run.planeMs[b]))[0];
  say(
    tableText(
      ['processor a plane', 'ms, median', 'spread', 'ours to it'],
      run.who.map((who) => {
        const ratios = run.planeMs.ours.map((ms, index) => ms / (run.planeMs[who][index] ?? Number.NaN));
        return [
          names[who],
          middle(run.planeMs[who]).toFixed(1),
          spread(run.planeMs[who]),
          who === 'ours' ? '' : `${middle(ratios).toFixed(2)} (${spread(ratios, 2)})`,
        ];
      }),
    ),
  );
  if (fastest) say(`  the fastest peer is ${names[fastest]}`);
  say(`  ours in a first pass, while the engine still compiles: ${middle(run.firstPassMs).toFixed(1)} ms`);
  say(
    `  ours, all ${run.planes} planes of ${sets.length} sets: ${(run.ownWallMs / 1000).toFixed(1)} s on the clock`,
  );
}

const peer = await startPeer();
let failed = false;
try {
  if (peer) say(`peer: scikit-image ${peer.version}`);
  else {
    say(howToInstall);
    failed = true;
  }
  const sets = existsSync(samples) ? (await readSamples(samples)).slice(0, mostSets) : [];
  say('\nOn simulated sets of another maker');
  if (sets.length === 0) {
    say('  sets missing: name the folder that holds ultrasound/public by EBBLINE_SAMPLES.');
    failed = true;
  } else tellRun(sets, await runSets(sets, peer));

  say('\nContour and moment of a ready field of 480 × 400');
  failed = !(await contourBench(peer, aims.contour)) || failed;

  say('\nTrue outlines beside closed forms');
  failed = !closedFormsBench(aims.closedForms) || failed;

  say('\nEditing');
  const fan = sets.find(({ set }) => set.geometry.layout === 'rotational_fan' && set.planes.length === 12);
  failed = !editingBench(fan?.set, aims.editing) || failed;
} finally {
  peer?.close();
}

if (!process.argv.includes('--skip-phantoms')) {
  say(`\nIntervals over ${phantoms} phantoms made here`);
  failed = !(await coverageBench(phantoms, aims.coverage)) || failed;
}
if (failed) process.exitCode = 1;
