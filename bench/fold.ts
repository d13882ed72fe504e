/**
 * A ward of 200 worked out again after one entry: folding only the patient whom it can change, beside folding everybody.
 * Both are asked for the same ward at the same minute, alternately, in one process: everybody just before the entry, then
 * whom it changes; that has to say the same as everybody after it.
 *
 *     node bench/fold.ts [rounds]
 *
 * Peer      the same fold without anything known before
 * Aim       at most 0.05 of folding everything: one patient in 200, and the grouping of all entries (S-bench-fold)
 */
import { foldWard, type PatientFacts, type WardFacts } from '../packages/core/src/facts/index.ts';
import { instantOfMs, minuteMs, seededRandom, uuidV7 } from '../packages/core/src/quantity/index.ts';
import { defaultSettings, type Entry } from '../packages/core/src/record/index.ts';
import { loadWard, loadWardId } from '../packages/simulate/src/index.ts';

const rounds = Math.max(7, Math.min(40, Number(process.argv[2] ?? 15)));
const warming = 3;
const aim = 0.05;
const untilMs = performance.now() + 60_000;

// Each round is a minute later, so that no estimate of a round before answers for this one's.
let startMs = Date.parse('2026-05-12T10:07:00Z');
const patients = 200;
const random = seededRandom(11);
const made = loadWard({ seed: 5, patients, nowMs: startMs });
const zone = made.directory.wards.find((ward) => ward.id === loadWardId)?.zone ?? 'UTC';
let entries: readonly Entry[] = made.entries;

function passed(patient: string, atMs: number): Entry {
  const at = instantOfMs(atMs);
  const [first] = entries;
  if (!first) throw new Error('the ward is empty');
  return {
    id: uuidV7(
      atMs,
      Array.from({ length: 10 }, () => random.below(256)),
    ),
    organisation: first.organisation,
    patient,
    kind: 'void',
    effectiveAt: at,
    timeQuality: 'exact',
    recordedAt: at,
    author: 'tove-wrenfield',
    madeOn: 'bench',
    payload: { how: 'measured', volumeMl: 150 + random.below(300) },
  };
}

function timed(known?: ReadonlyMap<string, PatientFacts>): { ward: WardFacts; ms: number; cpuMs: number } {
  const cpu = process.cpuUsage();
  const fromMs = performance.now();
  const ward = foldWard({
    ward: loadWardId,
    entries,
    nowMs: startMs,
    settings: defaultSettings,
    zone,
    ...(known ? { known } : {}),
  });
  const ms = performance.now() - fromMs;
  const used = process.cpuUsage(cpu);
  return { ward, ms, cpuMs: (used.user + used.system) / 1000 };
}

const byTime: number[] = [];
const byCpu: number[] = [];
const changedMs: number[] = [];
for (let round = 0; round < rounds + warming && performance.now() < untilMs; round += 1) {
  startMs += minuteMs;
  const whole = timed();
  const known = new Map(whole.ward.patients.map((facts) => [facts.patient, facts]));
  const patient = `load-${1 + random.below(patients)}`;
  entries = [...entries, passed(patient, startMs - minuteMs)];
  known.delete(patient);
  const changed = timed(known);
  if (JSON.stringify(changed.ward) !== JSON.stringify(timed().ward))
    throw new Error('folding what changed and folding everything do not say the same');
  // The first rounds warm both up.
  if (round < warming) continue;
  byTime.push(changed.ms / whole.ms);
  byCpu.push(changed.cpuMs / whole.cpuMs);
  changedMs.push(changed.ms);
}

const middle = (values: readonly number[]): number =>
  values.toSorted((a, b) => a - b)[Math.floor(values.length / 2)] ?? Number.NaN;
const spread = (values: readonly number[]): string =>
  `${Math.min(...values).toFixed(3)} to ${Math.max(...values).toFixed(3)}`;
const ratio = middle(byTime);
process.stdout.write(
  `${patients} patients after one entry: ${ratio.toFixed(3)} of folding everything (${spread(byTime)} over ${byTime.length} pairs; aim at most ${aim}); by processor time ${middle(byCpu).toFixed(3)} (${spread(byCpu)}); ${middle(changedMs).toFixed(1)} ms on this machine\n`,
);
if (!(byTime.length >= 7 && ratio <= aim)) process.exitCode = 1;
