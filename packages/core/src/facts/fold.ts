import { instantMs, minuteMs, wallClock, writtenOffsetMinutes } from '../quantity/index.ts';
import type { Entry, UnitSettings } from '../record/index.ts';
import { backfillOf } from './backfill.ts';
import { catheterFact } from './catheter.ts';
import { dueItems, pastLooks, type DueInputs } from './due.ts';
import {
  countsFromMs,
  estimateOf,
  estimateTrackFor,
  observationsOf,
  priorOf,
  toleranceReachedMs,
  type EstimateInputs,
} from './estimate.ts';
import type { FillingObservation, TrackPoint } from '../filling/index.ts';
import { earlierMs, raisedEntries, type DeviceError } from './device-error.ts';
import { lateDetections } from './late.ts';
import { ownershipOf } from './ownership.ts';
import { entriesByPatient, resolveEntries, type Resolution } from './resolve.ts';
import {
  cautionsOf,
  contextOf,
  declinedOf,
  discomfortOf,
  identityOf,
  initialsOf,
  limitOf,
  placementOf,
  protocolOf,
  redFlagsOf,
  watchOf,
} from './situation.ts';
import type {
  DecisionToReview,
  DrainFact,
  PatientFacts,
  ReadingFact,
  ResidualFact,
  VoidFact,
  WardFacts,
} from './types.ts';
import {
  agreementPairs,
  drainFact,
  possibleDuplicates,
  readingFact,
  residualFacts,
  voidFact,
} from './volumes.ts';

export interface FoldRequest {
  readonly patient: string;
  /** Every entry that can change this patient's facts (see `entriesByPatient`), in any order. */
  readonly entries: readonly Entry[];
  readonly nowMs: number;
  readonly settings: UnitSettings;
  /** IANA zone of the ward. */
  readonly zone: string;
  /** Work already done on the same entries. */
  readonly resolution?: Resolution;
  /** What pairs have taught of the scanners (see `deviceBook`): it may bring a look forward. */
  readonly devices?: ReadonlyMap<string, DeviceError>;
}

/** Entries of one patient that count at `now`: live, and not later than now. */
export function liveEntries(resolution: Resolution, patient: string, nowMs: number): readonly Entry[] {
  return (resolution.byPatient.get(patient) ?? [])
    .filter((one) => one.standing.state === 'live' && countsFromMs(one.entry) <= nowMs)
    .map((one) => one.entry);
}

function lowInARow(residuals: readonly ResidualFact[], settings: UnitSettings): number {
  let count = 0;
  for (const residual of residuals.toReversed()) {
    if (residual.late || residual.atLeast || residual.residualMl >= settings.lowResidualMl) break;
    count += 1;
  }
  return count;
}

function lastEmptiedOf(
  live: readonly Entry[],
  voids: readonly VoidFact[],
  drains: readonly DrainFact[],
  settings: UnitSettings,
): Pick<PatientFacts, 'lastEmptied'> & { emptiedMs: number | undefined } {
  const told = live.findLast((one) => one.kind === 'watch-opened' && one.payload.lastVoidAt !== undefined) as
    | Extract<Entry, { kind: 'watch-opened' }>
    | undefined;
  const toldMs = told?.payload.lastVoidAt === undefined ? undefined : instantMs(told.payload.lastVoidAt);
  const candidates = [
    ...(toldMs === undefined
      ? []
      : [
          {
            atMs: toldMs,
            how: 'told' as const,
            measured: told?.payload.lastVoidMl !== undefined,
            counts: true,
            ...(told?.payload.lastVoidMl === undefined ? {} : { volumeMl: told.payload.lastVoidMl }),
          },
        ]),
    ...voids.map((one) => ({
      atMs: one.atMs,
      how: 'passed' as const,
      measured: one.volumeMl !== undefined,
      counts: one.volumeMl !== undefined && one.volumeMl >= settings.smallVoidMl,
      ...(one.volumeMl === undefined ? {} : { volumeMl: one.volumeMl }),
    })),
    ...drains
      .filter((one) => one.route !== 'from-catheter')
      .map((one) => ({
        atMs: one.atMs,
        how: 'drained' as const,
        measured: one.volumeMl !== undefined,
        counts: true,
        ...(one.volumeMl === undefined ? {} : { volumeMl: one.volumeMl }),
      })),
  ].sort((a, b) => a.atMs - b.atMs);
  const last = candidates.at(-1);
  // A small void, or one that nobody measured, does not reset the clock.
  const emptiedMs = candidates.findLast((one) => one.counts)?.atMs;
  if (!last) return { emptiedMs };
  const { counts: _counts, ...shown } = last;
  return { lastEmptied: shown, emptiedMs };
}

function decisionsToReview(resolution: Resolution, patient: string): readonly DecisionToReview[] {
  const found: DecisionToReview[] = [];
  for (const { entry } of resolution.byPatient.get(patient) ?? []) {
    if (entry.kind !== 'step-advised' || entry.payload.becauseOf === undefined) continue;
    const standing = resolution.standing.get(entry.payload.becauseOf);
    const moved = (resolution.byPatient.get(patient) ?? []).find(
      (one) => one.entry.id === entry.payload.becauseOf,
    )?.standing;
    const shown = moved?.state === 'moved' ? moved : standing;
    if (shown && shown.state !== 'live')
      found.push({ decision: entry.id, reliedOn: entry.payload.becauseOf, standing: shown });
  }
  return found;
}

export function estimateInputsOf(
  live: readonly Entry[],
  request: Pick<FoldRequest, 'settings'> & { readonly zone?: string },
): EstimateInputs {
  const context = contextOf(live);
  const limit = limitOf(live, request.settings);
  const weightKg = context['weight-kg']?.value;
  const irrigation = live.findLast(
    (one) =>
      one.kind === 'catheter-status' &&
      (one.payload.status === 'irrigation-running' || one.payload.status === 'irrigation-stopped'),
  );
  return {
    live,
    setting: watchOf(live).setting,
    limitMl: limit.limitMl,
    ...(weightKg === undefined ? {} : { weightKg }),
    ...(limit.ownCapacityMl === undefined ? {} : { ownCapacityMl: limit.ownCapacityMl }),
    cautions: cautionsOf(live),
    irrigation: irrigation?.kind === 'catheter-status' && irrigation.payload.status === 'irrigation-running',
    clockAheadMs: clockAheadMs(live, request.zone),
    ...(request.settings.ownFigures === undefined ? {} : { ownFigures: request.settings.ownFigures }),
  };
}

/** How far the ward's clock is ahead of UTC: by its zone, else as its latest entry was written. */
function clockAheadMs(live: readonly Entry[], zone: string | undefined): number {
  const last = live.at(-1);
  if (!last) return 0;
  return (
    minuteMs *
    (zone === undefined
      ? writtenOffsetMinutes(last.effectiveAt)
      : wallClock(instantMs(last.effectiveAt), zone).offsetMinutes)
  );
}

/** When the limit becomes likely; where a scanner reads low, with its readings raised too, whichever is earlier. */
function cautiousToleranceMs(
  inputs: EstimateInputs,
  { settings, nowMs, devices }: FoldRequest,
  observations: readonly FillingObservation[],
): number | undefined {
  const plainMs = toleranceReachedMs(inputs, settings.overLimitTolerance, nowMs, observations);
  const live = raisedEntries(inputs.live, devices);
  if (live === inputs.live) return plainMs;
  const raised = observationsOf(live, nowMs);
  return earlierMs(
    plainMs,
    toleranceReachedMs({ ...inputs, live }, settings.overLimitTolerance, nowMs, raised),
  );
}

/** Below two informative entries the forecast is too wide to let anything wait. */
const bearsWaiting = (estimate: PatientFacts['estimate']): boolean =>
  !('notValid' in estimate) && estimate.informativeEntries >= 2 && estimate.catheter === 'none';

/**
 * What is true of one patient at `now`. Pure: the same set of entries, in any order, gives the same facts.
 *
 * Units     see facts/types.ts
 * Domain    any set of entries that passed `checkEntry`; entries later than `now` are left for later
 */
export function foldPatient(request: FoldRequest): PatientFacts {
  const { patient, nowMs, settings, zone } = request;
  const resolution = request.resolution ?? resolveEntries(request.entries);
  const timeline = (resolution.byPatient.get(patient) ?? []).filter(
    (one) => countsFromMs(one.entry) <= nowMs,
  );
  const live = timeline.filter((one) => one.standing.state === 'live').map((one) => one.entry);
  const identity = identityOf(live);
  const place = placementOf(live);
  const opened = watchOf(live);
  const protocol = protocolOf(live, opened);
  const watch = protocol === undefined ? opened : { ...opened, protocol };
  const limit = limitOf(live, settings);
  const cautions = cautionsOf(live);
  const context = contextOf(live);
  const estimateInputs = estimateInputsOf(live, request);
  const prior = priorOf(estimateInputs);
  const observations = observationsOf(live, nowMs);
  const readings: readonly ReadingFact[] = live
    .filter((one) => one.kind === 'reading')
    .map((one) => readingFact(one, cautions, prior));
  const voids = live.filter((one) => one.kind === 'void').map(voidFact);
  const drains = live
    .filter((one) => one.kind === 'drained' && one.payload.difficulty !== 'failed')
    .map((one) => drainFact(one as Extract<Entry, { kind: 'drained' }>));
  const residuals = residualFacts(readings, voids, drains, settings);
  const catheter = catheterFact(live, nowMs, zone);
  const backfill = backfillOf(live, watch.openedAtMs);
  const { owner, spans, offers } = ownershipOf(live, place.ward, nowMs);
  const watching = watch.state === 'open' || watch.state === 'paused';
  const estimate =
    watching || readings.length > 0
      ? estimateOf(estimateInputs, nowMs, observations)
      : { notValid: 'not-watched' };
  const dueInputs: DueInputs = {
    live,
    standing: standingFor(resolution, patient),
    watch,
    catheter,
    owner,
    spans,
    settings,
    nowMs,
    ward: place.ward,
    forecast: watching
      ? {
          toleranceMs: cautiousToleranceMs(estimateInputs, request, observations),
          bears: bearsWaiting(estimate),
        }
      : { toleranceMs: undefined, bears: false },
    forecastAt: (atMs) => {
      const then = live.filter((one) => countsFromMs(one) <= atMs);
      const inputs = estimateInputsOf(then, request);
      const seen = observationsOf(then, atMs);
      return {
        toleranceMs: toleranceReachedMs(inputs, settings.overLimitTolerance, atMs, seen),
        bears: bearsWaiting(estimateOf(inputs, atMs, seen, 1)),
      };
    },
  };
  const due = dueItems(dueInputs);
  const mustName = due.filter((one) => one.overdue || one.kind === 'call-reply').map((one) => one.key);
  const emptied = lastEmptiedOf(live, voids, drains, settings);
  const sum = (values: readonly (number | undefined)[]): number =>
    values.reduce<number>((total, one) => total + (one ?? 0), 0);
  const intakeMl = sum(live.map((one) => (one.kind === 'intake' ? one.payload.volumeMl : 0)));
  const voidedMl = sum(voids.map((one) => one.volumeMl));
  const drainedMl = sum(drains.map((one) => one.volumeMl));
  const bagMl = sum(
    live.map((one) => (one.kind === 'bag-read' && one.payload.emptied ? one.payload.volumeMl : 0)),
  );
  const calls = live.filter(
    (one) =>
      one.kind === 'call-made' &&
      !live.some((other) => other.kind === 'call-answered' && other.payload.call === one.id),
  ) as readonly Extract<Entry, { kind: 'call-made' }>[];
  const weightKg = context['weight-kg']?.value;
  return {
    patient,
    nowMs,
    ...(identity === undefined ? {} : { identity }),
    initials: initialsOf(identity),
    ward: place.ward,
    bed: place.bed,
    watch,
    ...limit,
    ...(weightKg === undefined ? {} : { weightKg }),
    cautions,
    redFlags: redFlagsOf(live),
    discomfort: discomfortOf(live),
    declined: declinedOf(live),
    context,
    timeline,
    readings,
    voids,
    drains,
    residuals,
    pairs: agreementPairs(readings, drains, voids, settings),
    catheter,
    ...(backfill === undefined ? {} : { backfill }),
    ...(emptied.lastEmptied === undefined ? {} : { lastEmptied: emptied.lastEmptied }),
    ...(emptied.emptiedMs === undefined ? {} : { sinceEmptiedMin: (nowMs - emptied.emptiedMs) / minuteMs }),
    totals: {
      intakeMl,
      voidedMl,
      drainedMl,
      bagMl,
      unmeasuredVoids: voids.filter((one) => one.volumeMl === undefined).length,
      balanceMl: intakeMl - voidedMl - drainedMl - bagMl,
    },
    due,
    pastLooks: pastLooks(dueInputs),
    calls: calls.map((one) => ({
      id: one.id,
      atMs: instantMs(one.effectiveAt),
      to: one.payload.to,
      toRole: one.payload.toRole,
      ask: one.payload.ask,
      replyDueAtMs: instantMs(one.payload.replyDueAt),
    })),
    owner,
    ownership: spans,
    offers: offers.map((one) => ({ ...one, mustName })),
    lateDetections: lateDetections(readings, voids, drains, limit.limitMl),
    toReview: decisionsToReview(resolution, patient),
    possibleDuplicates: possibleDuplicates(live, settings),
    estimate,
    lowResidualsInARow: lowInARow(residuals, settings),
    settings,
    ...(request.devices === undefined ? {} : { devices: request.devices }),
  };
}

/** Standing as seen from one patient's record: an entry that was moved away is "moved" there. */
function standingFor(
  resolution: Resolution,
  patient: string,
): ReadonlyMap<string, import('./types.ts').Standing> {
  const own = new Map(resolution.standing);
  for (const one of resolution.byPatient.get(patient) ?? []) own.set(one.entry.id, one.standing);
  return own;
}

/** Points for the tide chart: up to now what was known then, beyond it the forecast. */
export function estimateTrackOf(
  request: FoldRequest,
  span: { readonly fromMs: number; readonly toMs: number; readonly everyMin: number },
): readonly TrackPoint[] {
  const resolution = request.resolution ?? resolveEntries(request.entries);
  const live = liveEntries(resolution, request.patient, request.nowMs);
  return estimateTrackFor(estimateInputsOf(live, request), request.nowMs, span);
}

/** Order of the board: what is overdue first, then by due time, then those without a due item. */
export function compareByDue(a: PatientFacts, b: PatientFacts): number {
  const rank = (one: PatientFacts): number =>
    one.due.some((item) => item.overdue) ? 0 : one.due.length > 0 ? 1 : 2;
  const first = (one: PatientFacts): number => one.due[0]?.dueAtMs ?? Number.POSITIVE_INFINITY;
  const byRank = rank(a) - rank(b);
  if (byRank !== 0) return byRank;
  const byDue = first(a) === first(b) ? 0 : first(a) - first(b);
  return byDue || (a.patient < b.patient ? -1 : a.patient > b.patient ? 1 : 0);
}

export interface WardRequest {
  readonly ward: string;
  readonly entries: readonly Entry[];
  readonly nowMs: number;
  readonly settings: UnitSettings;
  readonly zone: string;
  /** Facts already folded at this `now`, by patient: what changed is folded again, the rest is taken over. */
  readonly known?: ReadonlyMap<string, PatientFacts>;
  readonly devices?: ReadonlyMap<string, DeviceError>;
}

export function wardFactsOf(ward: string, nowMs: number, patients: readonly PatientFacts[]): WardFacts {
  const here = patients.filter(
    (one) =>
      one.ward === ward &&
      (one.watch.state === 'open' ||
        one.watch.state === 'paused' ||
        one.catheter.inPlace ||
        one.due.length > 0),
  );
  const ordered = [...here].sort(compareByDue);
  const hourAhead = nowMs + 60 * minuteMs;
  return {
    ward,
    nowMs,
    patients: ordered,
    counts: {
      onWatch: here.filter((one) => one.watch.state === 'open' || one.watch.state === 'paused').length,
      overdue: here.filter((one) => one.due.some((item) => item.overdue)).length,
      dueWithinHour: here.filter((one) => one.due.some((item) => !item.overdue && item.dueAtMs <= hourAhead))
        .length,
    },
  };
}

/** All patients of a ward, in the order in which somebody has to act. */
export function foldWard(request: WardRequest): WardFacts {
  const groups = entriesByPatient(request.entries);
  const patients: PatientFacts[] = [];
  for (const [patient, entries] of groups) {
    patients.push(
      request.known?.get(patient) ??
        foldPatient({
          patient,
          entries,
          nowMs: request.nowMs,
          settings: request.settings,
          zone: request.zone,
          ...(request.devices === undefined ? {} : { devices: request.devices }),
        }),
    );
  }
  return wardFactsOf(request.ward, request.nowMs, patients);
}

export const patientsIn = (entries: readonly Entry[]): readonly string[] => [
  ...entriesByPatient(entries).keys(),
];
