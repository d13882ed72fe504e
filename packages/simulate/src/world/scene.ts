import { calendarDay, dayMs, instantInZone, minuteMs } from '@ebbline/core/quantity';
import type { Entry, PayloadOf, WatchSetting } from '@ebbline/core/record';
import { admit, type MadeUpPerson } from '../stories/story.ts';
import { instantOfWall, openChart, type Advise, type Chart } from '../writing/chart.ts';
import { liveWard, organisation } from './places.ts';

export interface SceneOptions {
  readonly seed: number;
  readonly nowMs: number;
  readonly zone: string;
  readonly advise?: Advise | undefined;
}

/** A patient on the scene: their chart, and minutes counted back from now. */
export interface OnScene {
  readonly chart: Chart;
  /** The instant so many minutes ago; negative lies ahead. */
  readonly ago: (minutes: number) => number;
  readonly instantAgo: (minutes: number) => string;
  /** That clock time of the next day. */
  readonly tomorrow: (time: string) => string;
  readonly opened: Entry;
  readonly owner: string;
  /** A reading by the owner. */
  readonly read: (minutesAgo: number, volumeMl: number, more?: Partial<PayloadOf<'reading'>>) => Entry;
}

export interface Casting {
  readonly patient: string;
  readonly person: MadeUpPerson;
  readonly ward?: string;
  readonly bed: string;
  readonly owner: string;
  readonly setting: WatchSetting;
  readonly reason: string;
  readonly openedAgo: number;
  readonly lastVoidAgo?: number;
  readonly lastVoidMl?: number;
  readonly weightKg?: number;
  readonly scanner?: string;
}

/** Puts a made-up patient into a bed with an open watch. */
export function cast(options: SceneOptions, part: Casting): OnScene {
  const { nowMs, zone, seed, advise } = options;
  const ago = (minutes: number): number => nowMs - minutes * minuteMs;
  const instantAgo = (minutes: number): string => instantInZone(ago(minutes), zone);
  const chart = openChart({ organisation, patient: part.patient, zone, seed, untilMs: nowMs, advise });
  admit(chart, ago(part.openedAgo + 90), part.owner, part.person, part.ward ?? liveWard, part.bed);
  if (part.weightKg !== undefined)
    chart.add('context', ago(part.openedAgo + 80), part.owner, { topic: 'weight-kg', value: part.weightKg });
  const opened = chart.add('watch-opened', ago(part.openedAgo), part.owner, {
    setting: part.setting,
    reason: part.reason,
    owner: part.owner,
    ...(part.lastVoidAgo === undefined ? {} : { lastVoidAt: instantAgo(part.lastVoidAgo) }),
    ...(part.lastVoidMl === undefined ? {} : { lastVoidMl: part.lastVoidMl }),
  });
  const read: OnScene['read'] = (minutesAgo, volumeMl, more = {}) =>
    chart.add('reading', ago(minutesAgo), part.owner, {
      result: 'exact',
      volumeMl,
      relation: 'no-void',
      doubts: [],
      scanner: part.scanner ?? 'scanner-a',
      operator: part.owner,
      position: 'supine',
      source: 'typed',
      method: 'automatic',
      ...more,
    });
  const tomorrow = (time: string): string =>
    instantInZone(instantOfWall(calendarDay(nowMs + dayMs, zone), time, zone), zone);
  return { chart, ago, instantAgo, tomorrow, opened, owner: part.owner, read };
}
