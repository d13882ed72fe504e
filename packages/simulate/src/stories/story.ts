import { minuteMs } from '@ebbline/core/quantity';
import { instantOfWall, openChart, type Advise, type Chart } from '../writing/chart.ts';
import { coastZone, organisation } from '../world/places.ts';

/** When and where a story is told. Everything may be left out. */
export interface StoryOptions {
  /** Local day on which it begins, `2026-05-14`; used when `startMs` is not given. */
  readonly day?: string;
  readonly zone?: string;
  /** Instant of the story's first clock time; minutes then run from it. */
  readonly startMs?: number;
  /** Nothing recorded later is told. */
  readonly untilMs?: number;
  readonly seed?: number;
  readonly advise?: Advise | undefined;
}

export interface Story {
  readonly zone: string;
  /** The instant of a clock time of the story; `dayAfter` 1 for the next morning. */
  readonly at: (time: string, dayAfter?: number) => number;
  readonly chart: (patient: string) => Chart;
}

const minutesOf = (time: string): number => {
  const [hour = 0, minute = 0] = time.split(':').map(Number);
  return hour * 60 + minute;
};

/** Opens a story whose first clock time is `begins`. */
export function openStory(begins: string, options: StoryOptions): Story {
  const zone = options.zone ?? coastZone;
  const startMs = options.startMs ?? instantOfWall(options.day ?? '2026-05-14', begins, zone);
  return {
    zone,
    at: (time, dayAfter = 0) => startMs + (minutesOf(time) - minutesOf(begins) + dayAfter * 1440) * minuteMs,
    chart: (patient) =>
      openChart({
        organisation,
        patient,
        zone,
        seed: options.seed ?? 1,
        untilMs: options.untilMs,
        advise: options.advise,
      }),
  };
}

export interface MadeUpPerson {
  readonly familyName: string;
  readonly givenName: string;
  readonly ageYears: number;
  readonly sex: 'female' | 'male';
  readonly number: string;
}

/** Identifier system of the made-up coast: a name that no real register has. */
export const identifierSystem = 'urn:example:selvoy-coast:record-number';

/** Registers a made-up person in a bed. */
export function admit(
  chart: Chart,
  atMs: number,
  author: string,
  person: MadeUpPerson,
  ward: string,
  bed: string,
): void {
  const { number, ...identity } = person;
  chart.add(
    'patient-registered',
    atMs,
    author,
    { ...identity, identifierSystem, identifierValue: number, ward, bed },
    { madeOn: 'front-desk' },
  );
}
