/**
 * What the unit can show of itself over a span: catheters avoided and late detections always together, looks,
 * catheter-days, pairs. Every figure keeps the entries behind it.
 */
import { dayMs, instantMs } from '../quantity/index.ts';
import type { Entry, UnitSettings } from '../record/index.ts';
import { proportionInterval } from './interval.ts';
import { catheterDays, catheterStays, countingInstants } from './catheter.ts';
import { foldPatient } from './fold.ts';
import { entriesByPatient, resolveEntries } from './resolve.ts';
import type { AgreementPair } from './types.ts';

export interface Share {
  readonly count: number;
  readonly of: number;
  /** 95 % interval of the share, per cent; absent when there is nothing to divide by. */
  readonly intervalPercent?: { readonly low: number; readonly high: number };
  /** The entries behind it, with their patients. */
  readonly behind: readonly { readonly patient: string; readonly entry: string }[];
}

export interface UnitFigures {
  readonly fromMs: number;
  readonly toMs: number;
  readonly watches: number;
  readonly readings: number;
  readonly looks: {
    readonly due: number;
    readonly inTime: Share;
    readonly late: Share;
    readonly missed: Share;
  };
  /** The two are one figure: a ward can avoid catheters by not looking. */
  readonly paired: { readonly cathetersAvoided: Share; readonly lateDetections: Share };
  readonly inOuts: number;
  readonly catheterDays: number;
  /** Days on which a patient was on watch or had a catheter, counted at the same hour; the ward's census is not known here. */
  readonly watchedDays: number;
  readonly voids: { readonly all: number; readonly unmeasured: number };
  readonly pairs: readonly (AgreementPair & { readonly patient: string })[];
}

/** Spans in which a watch was open or paused. */
function watchSpans(live: readonly Entry[], untilMs: number): readonly { fromMs: number; toMs: number }[] {
  const spans: { fromMs: number; toMs: number }[] = [];
  let fromMs: number | undefined;
  for (const entry of live) {
    if (entry.kind === 'watch-opened' && fromMs === undefined) fromMs = instantMs(entry.effectiveAt);
    if (entry.kind === 'watch-closed' && fromMs !== undefined) {
      spans.push({ fromMs, toMs: instantMs(entry.effectiveAt) });
      fromMs = undefined;
    }
  }
  return fromMs === undefined ? spans : [...spans, { fromMs, toMs: untilMs }];
}

const share = (behind: Share['behind'], of: number): Share => {
  const intervalPercent = proportionInterval(behind.length, of);
  return { count: behind.length, of, ...(intervalPercent ? { intervalPercent } : {}), behind };
};

/**
 * Figures of one ward over a span.
 *
 * Catheter avoided: a watch opened in the span in which somebody was measured and no catheter, in-out or indwelling,
 * followed within 24 hours of the first reading (one that was tried and could not be passed is not avoided). There is no standard definition (S-clinical-I16), so this one is
 * printed beside the figure. Late detection: a measured watch in which the first known volume over the limit was
 * found (facts/late.ts).
 */
export function unitFigures(request: {
  readonly entries: readonly Entry[];
  readonly ward: string;
  readonly fromMs: number;
  readonly toMs: number;
  readonly settings: UnitSettings;
  readonly zone: string;
}): UnitFigures {
  const { ward, fromMs, toMs, settings, zone } = request;
  const inSpan = (atMs: number): boolean => atMs >= fromMs && atMs < toMs;
  let watches = 0;
  let readings = 0;
  let inOuts = 0;
  let days = 0;
  let watchedDays = 0;
  let allVoids = 0;
  let unmeasured = 0;
  const inTime: { patient: string; entry: string }[] = [];
  const late: { patient: string; entry: string }[] = [];
  const missed: { patient: string; entry: string }[] = [];
  const avoided: { patient: string; entry: string }[] = [];
  const lateFinds: { patient: string; entry: string }[] = [];
  const pairs: (AgreementPair & { patient: string })[] = [];
  let measuredWatches = 0;
  for (const [patient, entries] of entriesByPatient(request.entries)) {
    const resolution = resolveEntries(entries);
    const facts = foldPatient({ patient, entries, nowMs: toMs, settings, zone, resolution });
    if (facts.ward !== ward) continue;
    const live = facts.timeline.filter((one) => one.standing.state === 'live').map((one) => one.entry);
    const openings = live.filter((one) => one.kind === 'watch-opened' && inSpan(instantMs(one.effectiveAt)));
    watches += openings.length;
    const inReadings = facts.readings.filter((one) => inSpan(one.atMs));
    readings += inReadings.length;
    inOuts += facts.drains.filter((one) => one.route === 'in-out' && inSpan(one.atMs)).length;
    days += catheterDays(live, toMs, settings.catheterCountHour, zone, fromMs);
    const spans = [...watchSpans(live, toMs), ...catheterStays(live, toMs)];
    watchedDays += countingInstants(fromMs, toMs, settings.catheterCountHour, zone).filter((atMs) =>
      spans.some((one) => one.fromMs <= atMs && atMs < one.toMs),
    ).length;
    const inVoids = facts.voids.filter((one) => inSpan(one.atMs));
    allVoids += inVoids.length;
    unmeasured += inVoids.filter((one) => one.volumeMl === undefined).length;
    for (const look of facts.pastLooks) {
      if (!inSpan(look.dueAtMs)) continue;
      (look.outcome === 'in-time' ? inTime : look.outcome === 'late' ? late : missed).push({
        patient,
        entry: look.advised,
      });
    }
    for (const pair of facts.pairs) {
      const drain = facts.drains.find((one) => one.id === pair.drainId);
      if (drain && inSpan(drain.atMs)) pairs.push({ ...pair, patient });
    }
    for (const opening of openings) {
      const openedMs = instantMs(opening.effectiveAt);
      const first = facts.readings.find((one) => one.atMs >= openedMs && one.volumeMl !== undefined);
      if (!first) continue;
      measuredWatches += 1;
      // A watch counts once, however often it was over: the share is of watches.
      const endMs = watchSpans(live, toMs).find((one) => one.fromMs === openedMs)?.toMs ?? toMs;
      const find = facts.lateDetections.find((one) => one.atMs >= openedMs && one.atMs <= endMs);
      if (find) lateFinds.push({ patient, entry: find.byEntry });
      const catheterised = live.some(
        (one) =>
          (one.kind === 'catheter-placed' ||
            (one.kind === 'drained' && one.payload.route !== 'from-catheter')) &&
          instantMs(one.effectiveAt) >= first.atMs &&
          instantMs(one.effectiveAt) <= first.atMs + dayMs,
      );
      if (!catheterised) avoided.push({ patient, entry: opening.id });
    }
  }
  const due = inTime.length + late.length + missed.length;
  return {
    fromMs,
    toMs,
    watches,
    readings,
    looks: { due, inTime: share(inTime, due), late: share(late, due), missed: share(missed, due) },
    paired: {
      cathetersAvoided: share(avoided, measuredWatches),
      lateDetections: share(lateFinds, measuredWatches),
    },
    inOuts,
    catheterDays: days,
    watchedDays,
    voids: { all: allVoids, unmeasured },
    pairs,
  };
}
