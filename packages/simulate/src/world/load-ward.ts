import { dayMs, minuteMs, seededRandom } from '@ebbline/core/quantity';
import { defaultSettings, type Directory, type Entry } from '@ebbline/core/record';
import { watchEpisode, type EpisodeSetting } from './episode.ts';
import { coastDirectory, coastZone } from './places.ts';
import type { World } from './demo-world.ts';

export interface LoadOptions {
  readonly seed: number;
  /** How many are on watch at `nowMs`. */
  readonly patients: number;
  readonly nowMs: number;
}

export const loadWardId = 'ward-load';
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

function loadDirectory(beds: number): Directory {
  const directory = coastDirectory();
  return {
    ...directory,
    people: directory.people.map((person) => ({ ...person, wards: [...person.wards, loadWardId] })),
    wards: [
      ...directory.wards,
      {
        id: loadWardId,
        name: 'Long Ward',
        purpose: 'For load tests',
        hospital: 'Ostrel Bay Hospital',
        zone: coastZone,
        settings: defaultSettings,
        beds: Array.from({ length: beds }, (_, index) => String(index + 1)),
        shiftChanges: ['07:00', '15:00', '23:00'],
      },
    ],
  };
}

/** One ward with as many open watches as asked for, each some hours old. Not for demonstration. */
export function loadWard({ seed, patients, nowMs }: LoadOptions): World {
  const random = seededRandom(seed);
  const entries: Entry[] = [];
  for (let bed = 1; bed <= patients; bed += 1) {
    let attempt = 0;
    let told: readonly Entry[] = [];
    // A watch that has already ended does not load the board: another is drawn.
    do {
      attempt += 1;
      told = watchEpisode({
        patient: `load-${bed}`,
        number: `EX-L${bed}`,
        ward: loadWardId,
        bed: String(bed),
        zone: coastZone,
        setting: random.pick(settings),
        openedMs: nowMs - (40 + random.below(600)) * minuteMs,
        untilMs: nowMs,
        seed: seed + attempt,
        random,
        nurses,
        longestH: 240,
      });
    } while (told.some((entry) => entry.kind === 'watch-closed') && attempt < 50);
    entries.push(...told);
  }
  return { directory: loadDirectory(patients), entries };
}

export interface LoadYearsOptions {
  readonly seed: number;
  readonly years: number;
  readonly nowMs: number;
  readonly episodesPerDay: number;
}

/** Years of finished watches, one batch of entries a watch, oldest first. Lazy: take as many as the test needs. */
export function* loadYears({
  seed,
  years,
  nowMs,
  episodesPerDay,
}: LoadYearsOptions): Generator<readonly Entry[]> {
  const random = seededRandom(seed);
  const days = Math.round(years * 365.25);
  for (let day = days; day >= 3; day -= 1) {
    for (let index = 0; index < episodesPerDay; index += 1) {
      const name = `year-${day}-${index}`;
      yield watchEpisode({
        patient: name,
        number: `EX-Y${day}-${index}`,
        ward: loadWardId,
        bed: String(1 + random.below(28)),
        zone: coastZone,
        setting: random.pick(settings),
        openedMs: nowMs - day * dayMs + random.below(1440) * minuteMs,
        untilMs: nowMs,
        seed,
        random,
        nurses,
      });
    }
  }
}
