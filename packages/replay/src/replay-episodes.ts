/**
 * A draft protocol beside the one in force, over finished watches: at each moment at which a step was advised, what was
 * known then is rebuilt and both are asked.
 *
 *     seen   a moment up to and with the first at which one of the two answers otherwise than was advised then
 *     after  everything later in that watch: the course there belongs to what was advised, so it is listed, and
 *            counted in no figure
 *
 * Units     counts for each patient; minutes; ms since the epoch
 * Domain    entries that passed `checkEntry`; two protocols; watches finished by `nowMs` whose setting one of them is for
 * Not for   what would have happened: no later course is made up here
 * Errors    refusal `replay/nothing-to-replay` without such a watch
 * Source    ADR 0017; intervals see paired.ts
 */
import { foldPatient, knownAt } from '@ebbline/core/facts';
import { instantMs, isRefusal, minuteMs, refuse, wallClock, type Refusal } from '@ebbline/core/quantity';
import {
  bootstrapMean,
  clopperPearsonInterval,
  type MeanInterval,
  type ShareInterval,
} from '@ebbline/core/statistics';
import { compareEntries, type Entry, type Step } from '@ebbline/core/record';
import { protocolInputOf, triggerOf, type Trigger } from '@ebbline/protocol';
import {
  answerOf,
  asksForLook,
  changeBetween,
  isNightHour,
  passesCatheter,
  type Answer,
  type Change,
} from './answer.ts';
import { asSeenFrom, finishedWatches, rulesOf, type Kept, type PastRequest } from './episodes.ts';
import { figureOf, type PairedFigure } from './paired.ts';
import type { Work } from './progress.ts';

export interface EpisodesRequest extends PastRequest {
  /** Of the resampling. */
  readonly seed: number;
}

export interface ReplayedMoment {
  readonly patient: string;
  /** The entry that opened the watch. */
  readonly episode: string;
  /** The entry that kept what was advised then. */
  readonly advised: string;
  readonly atMs: number;
  readonly trigger: Trigger;
  readonly recorded: { readonly step: Step; readonly dueAtMs: number };
  readonly inForce: Answer;
  readonly draft: Answer;
  /** How the draft differs from the one in force; absent when it does not. */
  readonly change?: Change;
  /** False after a departure from what was advised in this watch. */
  readonly seen: boolean;
}

export type PastFigureName = 'catheterisations' | 'looks' | 'woken' | 'waitMin';

export interface EpisodesReplay {
  readonly patients: number;
  readonly episodes: number;
  readonly moments: number;
  readonly seen: number;
  /** Moments before any departure at which the one in force answers otherwise than was advised then. */
  readonly inForceDeparts: number;
  /** Advised steps that ask a protocol nothing, or for which an age or a watch was missing then. */
  readonly notAsked: number;
  /** Patients of whom a step changes, seen or after, with the exact 95 % interval of their share. */
  readonly changedPatients: { readonly count: number; readonly of: number; readonly share?: ShareInterval };
  /** Every moment at which the two differ, in order of time. */
  readonly changed: readonly ReplayedMoment[];
  /** Answers that differ, over seen moments: all, and for each patient with the 95 % interval of the mean. */
  readonly changes: { readonly count: number; readonly perPatient?: MeanInterval };
  /**
   * For each patient, over seen moments: catheterisations, looks, looks due at night; mean minutes until the look that is
   * asked for, where both ask for one.
   */
  readonly figures: Readonly<Record<PastFigureName, PairedFigure>>;
}

type Advised = Extract<Entry, { kind: 'step-advised' }>;

const nothingToReplay = (request: EpisodesRequest): Refusal =>
  refuse('replay/nothing-to-replay', {
    asked: 'Replay over the past',
    found: 'no finished watch with an advised step in this record',
    allowed: `finished watches of ${[...new Set([...request.inForce.settings, ...request.draft.settings])].join(', ')}`,
    todo: 'Wait until some watches of this setting are finished, or try it on made-up wards.',
  });

const dueAtMs = (answer: Extract<Answer, { kind: 'advice' }>, fromMs: number): number =>
  fromMs + answer.dueInMin * minuteMs;

const agreesWith = (answer: Answer, recorded: ReplayedMoment['recorded'], fromMs: number): boolean =>
  answer.kind === 'advice' && answer.step === recorded.step && dueAtMs(answer, fromMs) === recorded.dueAtMs;

interface Counted {
  changes: number;
  catheterisations: [number, number];
  looks: [number, number];
  woken: [number, number];
  waits: [number, number][];
}

/** Both protocols at one advised step, from what was known when it was advised; undefined where nothing was asked. */
function askedAt(
  advised: Advised,
  kept: readonly Kept[],
  request: EpisodesRequest,
):
  | (Omit<ReplayedMoment, 'episode' | 'seen'> & { readonly fromMs: number; readonly zone: string })
  | undefined {
  const { payload } = advised;
  const nowMs = instantMs(advised.recordedAt);
  const known = knownAt(asSeenFrom(advised.madeOn, kept), nowMs).filter((one) => one.id !== advised.id);
  const because = known.find((one) => one.id === payload.becauseOf);
  const trigger = because === undefined ? 'time' : triggerOf(because.kind, because.payload);
  if (trigger === undefined) return undefined;
  const { settings, zone } = rulesOf(request, known);
  const facts = foldPatient({ patient: advised.patient, entries: known, nowMs, settings, zone });
  const input = protocolInputOf(facts, trigger, zone);
  if (isRefusal(input)) return undefined;
  const [inForce, draft] = [answerOf(request.inForce, input), answerOf(request.draft, input)];
  const change = changeBetween(inForce, draft);
  return {
    patient: advised.patient,
    advised: advised.id,
    atMs: nowMs,
    fromMs: instantMs((because ?? advised).effectiveAt),
    zone,
    trigger,
    recorded: { step: payload.step, dueAtMs: instantMs(payload.dueAt) },
    inForce,
    draft,
    ...(change === undefined ? {} : { change }),
  };
}

function count(into: Counted, moment: NonNullable<ReturnType<typeof askedAt>>): void {
  if (moment.change !== undefined) into.changes += 1;
  const waits: number[] = [];
  for (const [side, answer] of [moment.inForce, moment.draft].entries()) {
    if (answer.kind !== 'advice') continue;
    const place = side as 0 | 1;
    if (passesCatheter(answer.step)) into.catheterisations[place] += 1;
    if (!asksForLook(answer.step)) continue;
    into.looks[place] += 1;
    waits.push(answer.dueInMin);
    if (isNightHour(wallClock(dueAtMs(answer, moment.fromMs), moment.zone).hour)) into.woken[place] += 1;
  }
  if (waits.length === 2) into.waits.push([waits[0] as number, waits[1] as number]);
}

export function* replayEpisodes(request: EpisodesRequest): Work<EpisodesReplay | Refusal> {
  const receivedAt = new Map(request.kept.map((one) => [one.entry.id as string, one.receivedAt]));
  const moments: ReplayedMoment[] = [];
  const counts = new Map<string, Counted>();
  const watched = finishedWatches(request);
  let inForceDeparts = 0;
  let notAsked = 0;
  let episodes = 0;
  for (const [done, { episode, entries }] of watched.entries()) {
    yield { share: done / watched.length, says: `watch ${done + 1} of ${watched.length}` };
    const kept = entries.map((entry) => ({
      entry,
      receivedAt: receivedAt.get(entry.id) ?? entry.recordedAt,
    }));
    const steps = entries
      .filter(
        (one): one is Advised =>
          one.kind === 'step-advised' &&
          one.patient === episode.patient &&
          instantMs(one.effectiveAt) >= episode.fromMs &&
          instantMs(one.effectiveAt) <= episode.toMs,
      )
      .sort((a, b) => instantMs(a.recordedAt) - instantMs(b.recordedAt) || compareEntries(a, b));
    let seen = true;
    let asked = 0;
    for (const advised of steps) {
      const moment = askedAt(advised, kept, request);
      if (moment === undefined) {
        notAsked += 1;
        continue;
      }
      asked += 1;
      const { fromMs, zone: _zone, ...shown } = moment;
      moments.push({ ...shown, episode: episode.openedBy, seen });
      if (!seen) continue;
      const into = counts.get(episode.patient) ?? {
        changes: 0,
        catheterisations: [0, 0],
        looks: [0, 0],
        woken: [0, 0],
        waits: [],
      };
      counts.set(episode.patient, into);
      count(into, moment);
      const asAdvised = agreesWith(moment.inForce, moment.recorded, fromMs);
      if (!asAdvised) inForceDeparts += 1;
      seen = asAdvised && agreesWith(moment.draft, moment.recorded, fromMs);
    }
    if (asked > 0) episodes += 1;
  }
  if (moments.length === 0) return nothingToReplay(request);
  const changed = moments.filter((one) => one.change !== undefined).sort((a, b) => a.atMs - b.atMs);
  const patients = [...counts.keys()].sort();
  const of = patients.map((patient) => counts.get(patient) as Counted);
  const changedCount = new Set(changed.map((one) => one.patient)).size;
  const share = clopperPearsonInterval(changedCount, patients.length);
  const mean = (waits: readonly (readonly [number, number])[], side: 0 | 1): number =>
    waits.reduce((sum, pair) => sum + pair[side], 0) / waits.length;
  const { seed } = request;
  const perPatient = bootstrapMean(
    of.map((one) => one.changes),
    seed,
  );
  return {
    patients: patients.length,
    episodes,
    moments: moments.length,
    seen: moments.filter((one) => one.seen).length,
    inForceDeparts,
    notAsked,
    changedPatients: {
      count: changedCount,
      of: patients.length,
      ...(isRefusal(share) ? {} : { share }),
    },
    changed,
    changes: {
      count: of.reduce((sum, one) => sum + one.changes, 0),
      ...(isRefusal(perPatient) ? {} : { perPatient }),
    },
    figures: {
      catheterisations: figureOf(
        of.map((one) => one.catheterisations),
        seed,
      ),
      looks: figureOf(
        of.map((one) => one.looks),
        seed,
      ),
      woken: figureOf(
        of.map((one) => one.woken),
        seed,
      ),
      waitMin: figureOf(
        of.flatMap(({ waits }) => (waits.length === 0 ? [] : [[mean(waits, 0), mean(waits, 1)] as const])),
        seed,
      ),
    },
  };
}
