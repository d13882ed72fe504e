/**
 * From a patient's facts to what stands on the tide chart and in its rows. No words about the past in vermilion, no
 * estimate presented as a reading: the band and the marks come from different places.
 */
import type { Owner, PatientFacts } from '@ebbline/core/facts';
import { clockTime, instantMs, isRefusal, minuteMs, readInstant } from '@ebbline/core/quantity';
import { chartWindow, type ChartEvent, type ChartInput, type Span, type TrackValue } from './chart-input.ts';
import { aboutMl, labels, theirs, whole } from '@ebbline/core/present';

export type NameOf = (owner: Owner) => string;

const lowerFirst = (text: string): string => text.charAt(0).toLowerCase() + text.slice(1);

function readingEvents(facts: PatientFacts): readonly ChartEvent[] {
  return facts.readings.map((one): ChartEvent => {
    const doubt = one.doubts[0];
    const base = { id: one.id, atMs: one.atMs, row: 'looks' as const };
    if (one.volumeMl === undefined)
      return { ...base, mark: 'not-obtained', strong: 'no reading', onChart: false };
    if (one.result === 'at-least' || one.trust === 'low-bound-only') {
      return {
        ...base,
        mark: 'at-least',
        strong: `at least ${whole(one.volumeMl)}`,
        ...(doubt === undefined ? {} : { rest: lowerFirst(labels.doubts[doubt]) }),
        volumeMl: one.volumeMl,
        onChart: true,
      };
    }
    const rest =
      doubt === undefined
        ? one.intervalMl
          ? `${aboutMl(one.intervalMl.low)}–${aboutMl(one.intervalMl.high)}`
          : undefined
        : lowerFirst(labels.doubts[doubt]);
    return {
      ...base,
      mark: 'reading',
      strong: whole(one.volumeMl),
      ...(rest === undefined ? {} : { rest }),
      volumeMl: one.volumeMl,
      ...(one.intervalMl === undefined ? {} : { intervalMl: one.intervalMl }),
      onChart: true,
    };
  });
}

function dueEvents(facts: PatientFacts, zone: string): readonly ChartEvent[] {
  const missed = facts.pastLooks
    .filter((look) => look.outcome === 'missed')
    .map((look): ChartEvent => ({
      id: `missed-${look.advised}`,
      atMs: look.dueAtMs,
      row: 'looks',
      mark: 'missed',
      strong: clockTime(look.dueAtMs, zone),
      rest: 'not done',
      onChart: false,
    }));
  const next = facts.due
    .filter((item) => item.kind === 'look' || item.kind === 'residual')
    .map((item): ChartEvent => ({
      id: `due-${item.key}`,
      atMs: item.dueAtMs,
      row: 'looks',
      mark: item.overdue ? 'overdue' : 'due',
      strong: clockTime(item.dueAtMs, zone),
      rest: item.overdue ? 'overdue' : 'next look',
      onChart: false,
    }));
  return [...missed, ...next];
}

function timelineEvents(facts: PatientFacts): readonly ChartEvent[] {
  const events: ChartEvent[] = [];
  for (const { entry, standing } of facts.timeline) {
    if (standing.state !== 'live') continue;
    const base = { id: entry.id, atMs: instantMs(entry.effectiveAt) };
    switch (entry.kind) {
      case 'void': {
        const { how, volumeMl, padG } = entry.payload;
        const strong =
          volumeMl === undefined ? (padG === undefined ? 'passed' : `${whole(padG)} g`) : whole(volumeMl);
        const rest = {
          measured: 'passed',
          'not-measured': 'not measured',
          'pad-weighed': 'in a pad',
          mixed: 'mixed',
          lost: 'lost',
        }[how];
        events.push({
          ...base,
          row: 'passed',
          mark: 'passed',
          strong,
          rest,
          ...(volumeMl === undefined ? {} : { volumeMl }),
          onChart: true,
        });
        break;
      }
      case 'drained': {
        const { volumeMl, route, sizeCh } = entry.payload;
        const pair = facts.pairs.find((one) => one.drainId === entry.id);
        const rest = pair
          ? `read ${whole(pair.readMl)}, ${Math.round(pair.apartMin)} min before`
          : route === 'in-out'
            ? 'in and out'
            : route === 'left-in'
              ? 'catheter left in'
              : 'from the catheter';
        events.push({
          ...base,
          row: 'catheter',
          mark: 'drained',
          strong: volumeMl === undefined ? 'drained' : `drained ${whole(volumeMl)}`,
          rest,
          ...(volumeMl === undefined ? {} : { volumeMl }),
          onChart: route !== 'from-catheter',
        });
        events.push({
          ...base,
          id: `${entry.id}-catheter`,
          row: 'catheter',
          mark: 'catheter',
          strong: route === 'in-out' ? 'in and out' : route === 'left-in' ? 'left in' : 'from the catheter',
          ...(sizeCh === undefined ? {} : { rest: `size ${sizeCh}` }),
          onChart: false,
        });
        break;
      }
      case 'intake':
        events.push({
          ...base,
          row: 'in',
          mark: 'intake',
          strong: whole(entry.payload.volumeMl),
          rest: entry.payload.route === 'oral' ? 'drunk' : 'into a vein',
          volumeMl: entry.payload.volumeMl,
          onChart: false,
        });
        break;
      case 'catheter-placed':
        events.push({ ...base, row: 'catheter', mark: 'catheter', strong: 'placed', onChart: false });
        break;
      case 'catheter-removed':
        events.push({ ...base, row: 'catheter', mark: 'catheter', strong: 'removed', onChart: false });
        break;
      case 'watch-opened': {
        const told =
          entry.payload.lastVoidAt === undefined ? undefined : readInstant(entry.payload.lastVoidAt);
        if (told === undefined || isRefusal(told)) break;
        const { lastVoidMl } = entry.payload;
        events.push({
          ...base,
          id: `${entry.id}-told`,
          atMs: told,
          row: 'passed',
          mark: 'passed',
          strong: lastVoidMl === undefined ? 'passed' : whole(lastVoidMl),
          rest: 'as told',
          onChart: false,
        });
        break;
      }
      default:
    }
  }
  return events;
}

/** Who had the watch when; from an offer on that nobody has accepted, the stretch is hatched and says so. */
function watchSpans(facts: PatientFacts, toMs: number, nameOf: NameOf): readonly Span[] {
  const spans = facts.ownership.map((span, index): Span => ({
    fromMs: span.fromMs,
    toMs: facts.ownership[index + 1]?.fromMs ?? toMs,
    words: nameOf(span.owner),
    known: true,
  }));
  const offer = facts.offers[0];
  const last = spans.at(-1);
  if (!offer || !last || offer.atMs <= last.fromMs) return spans;
  return [
    ...spans.slice(0, -1),
    { ...last, toMs: offer.atMs },
    {
      fromMs: offer.atMs,
      toMs,
      words: `${nameOf(offer.from)} still: ${nameOf(offer.to)} has not accepted`,
      known: false,
    },
  ];
}

const notValidWords: Readonly<Record<string, string>> = {
  irrigation: 'irrigation runs: no estimate',
  ascites: 'ascites: do not rely on readings',
  'pelvic-mass': 'pelvic mass: do not rely on readings',
  neobladder: 'neobladder: no estimate',
  urostomy: 'urostomy: no bladder to watch',
  'peritoneal-dialysis': 'dialysis fluid: do not rely on readings',
};

/** Everything that the chart is told, for a stretch of time. */
export function chartInputOf(
  facts: PatientFacts,
  track: readonly TrackValue[],
  zone: string,
  nameOf: NameOf,
  shiftHours = 0,
): ChartInput {
  const { fromMs, toMs } = chartWindow(facts, shiftHours);
  const estimate = 'notValid' in facts.estimate ? undefined : facts.estimate;
  const shown = track.filter((value) => value.atMs >= fromMs && value.atMs <= toMs);
  const firstKnownMs = shown[0]?.atMs;
  const notKnown: Span[] = [];
  if (!estimate && 'notValid' in facts.estimate) {
    notKnown.push({
      fromMs,
      toMs,
      words: facts.catheter.inPlace
        ? 'a catheter drains it'
        : (notValidWords[facts.estimate.notValid] ?? 'too little is known to estimate'),
      known: false,
    });
  } else if (firstKnownMs === undefined || firstKnownMs > fromMs)
    notKnown.push({ fromMs, toMs: firstKnownMs ?? toMs, words: 'not known', known: false });
  const over = facts.lateDetections.flatMap((late) => {
    if (late.overMin === undefined) return [];
    const { low, likely, high } = late.overMin;
    return [
      {
        fromMs: late.atMs - likely * minuteMs,
        toMs: late.atMs,
        topMl: late.volumeMl,
        words: `over ${whole(late.limitMl)} for about ${Math.round(likely)} min`,
        rest: `between ${Math.round(low)} and ${Math.round(high)}, by a straight line`,
      },
    ];
  });
  const events = [...readingEvents(facts), ...dueEvents(facts, zone), ...timelineEvents(facts)]
    .filter((event) => event.atMs >= fromMs && event.atMs <= toMs)
    .toSorted((a, b) => a.atMs - b.atMs);
  return {
    nowMs: facts.nowMs,
    zone,
    fromMs,
    toMs,
    limitMl: facts.limitMl,
    limitWords:
      facts.limitSource === 'unit'
        ? `the unit’s limit ${whole(facts.limitMl)}`
        : `${theirs(facts)} own limit ${whole(facts.limitMl)}`,
    track: shown,
    ...(estimate ? { crossing: estimate.crossing } : {}),
    events,
    notKnown,
    watch: watchSpans(facts, toMs, nameOf),
    over,
  };
}
