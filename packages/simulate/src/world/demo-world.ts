import { dayMs, minuteMs, seededRandom } from '@ebbline/core/quantity';
import { compareEntries, type Directory, type Entry } from '@ebbline/core/record';
import { workedPatientFalseHigh } from '../stories/worked-false-high.ts';
import { workedPatientKnee } from '../stories/worked-knee.ts';
import { workedPatientSilentMiss } from '../stories/worked-silent-miss.ts';
import { workedPatientWrongBed } from '../stories/worked-wrong-bed.ts';
import type { Advise } from '../writing/chart.ts';
import { clockChangeNight } from './clock-change-night.ts';
import { watchEpisode, type EpisodeSetting } from './episode.ts';
import { otherWards } from './other-wards.ts';
import { coastDirectory, coastZone, liveWard } from './places.ts';
import { wardEvening } from './ward-evening.ts';

export interface WorldOptions {
  readonly seed: number;
  readonly nowMs: number;
  /** Answers for the protocol; without it the example rows are quoted. */
  readonly advise?: Advise | undefined;
  /** Finished watches of the last two months, for the unit's figures. */
  readonly pastEpisodes?: number;
}

export interface World {
  readonly directory: Directory;
  readonly entries: readonly Entry[];
}

const nurses = [
  'tove-wrenfield',
  'odile-marchetti',
  'bram-sorrel',
  'imke-dahlroos',
  'yusra-kellan',
  'piet-lorring',
] as const;
const settings: readonly EpisodeSetting[] = [
  'after-surgery',
  'after-surgery',
  'after-surgery',
  'catheter-removed',
  'after-birth',
];

/**
 * The made-up coast at this moment: one ward alive, the others with a few patients, two months of finished watches.
 * Nothing is recorded after `nowMs`; some things are due before it and some after. Same seed and moment, same world.
 *
 * Source    outcomes after S-job-4.2 and S-job-8b
 */
export function demoWorld({ seed, nowMs, advise, pastEpisodes = 60 }: WorldOptions): World {
  const story = { zone: coastZone, untilMs: nowMs, seed, advise };
  const before = (minutes: number): number => nowMs - minutes * minuteMs;
  const entries: Entry[] = [
    ...workedPatientKnee({ ...story, startMs: before(325) }), // the present is 18:30 of that story
    ...workedPatientFalseHigh({ ...story, startMs: before(140) }), // 13:00
    ...workedPatientSilentMiss({ ...story, startMs: before(8 * 60 + 47) }), // 14:57
    ...workedPatientWrongBed({ ...story, startMs: before(112) }), // 21:22
    ...wardEvening({ seed, nowMs, zone: coastZone, advise }),
    ...otherWards({ seed, nowMs, zone: coastZone, advise }),
    ...clockChangeNight({ seed, nowMs, zone: coastZone, advise }),
  ];
  const random = seededRandom(seed);
  for (let index = 0; index < pastEpisodes; index += 1) {
    const openedMs = nowMs - (4 + (56 * index) / pastEpisodes) * dayMs - random.below(600) * minuteMs;
    entries.push(
      ...watchEpisode({
        patient: `patient-past-${index + 1}`,
        number: `EX-6${String(1000 + index)}-P`,
        ward: liveWard,
        bed: String(1 + random.below(28)),
        zone: coastZone,
        setting: random.pick(settings),
        openedMs,
        untilMs: nowMs,
        seed,
        random,
        nurses,
        advise,
      }),
    );
  }
  return { directory: coastDirectory(), entries: entries.sort(byRecorded) };
}

/** In the order of writing, as a server would have received them. */
function byRecorded(a: Entry, b: Entry): number {
  return a.id < b.id ? -1 : a.id > b.id ? 1 : compareEntries(a, b);
}
