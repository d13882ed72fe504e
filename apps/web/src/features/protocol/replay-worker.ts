// Tries a draft on the past and on made-up wards off the main thread. Giving up ends this worker: nothing half done comes.
import type { WardRules } from '@ebbline/core/facts';
import { isRefusal, type Refusal } from '@ebbline/core/quantity';
import { defaultSettings } from '@ebbline/core/record';
import {
  hoursOverPast,
  replayEpisodes,
  replaySimulated,
  toEnd,
  type EpisodesReplay,
  type HoursOver,
  type PastRequest,
  type SimulatedReplay,
} from '@ebbline/replay';
import { partEnds } from './replay-parts.ts';

export interface ReplayOrder extends Omit<PastRequest, 'wardOf' | 'ward'> {
  readonly wards: Readonly<Record<string, WardRules>>;
  /** The ward whose watches are gone over, and whose rules the made-up wards keep. */
  readonly ward: string;
  readonly madeUpPatients: number;
  readonly seed: number;
}

export interface ReplayFound {
  readonly past: EpisodesReplay | Refusal;
  /** Of the real course; absent where there is no past. */
  readonly hours?: HoursOver;
  readonly madeUp: SimulatedReplay | Refusal;
}

export type ToReplayer = ReplayOrder | { readonly ready: true };
export type FromReplayer = { readonly progress: number } | { readonly found: ReplayFound };

const hoursInDay = 24;

function replay(order: ReplayOrder): ReplayFound {
  const { wards, ward, madeUpPatients, seed, inForce, draft } = order;
  const rules: WardRules = wards[ward] ?? { settings: defaultSettings, zone: 'UTC' };
  const request = { ...order, wardOf: (id: string): WardRules => wards[id] ?? rules };
  const tell =
    (from: number, to: number) =>
    ({ share }: { readonly share: number }): void =>
      postMessage({ progress: from + share * (to - from) } satisfies FromReplayer);
  const past = toEnd(replayEpisodes(request), tell(0, partEnds.past));
  const hours = isRefusal(past)
    ? undefined
    : toEnd(hoursOverPast(request), tell(partEnds.past, partEnds.hours));
  const madeUp = toEnd(
    replaySimulated({
      inForce,
      draft,
      patients: madeUpPatients,
      hours: hoursInDay,
      seed,
      settings: rules.settings,
    }),
    tell(partEnds.hours, partEnds.madeUp),
  );
  return { past, ...(hours === undefined ? {} : { hours }), madeUp };
}

addEventListener('message', ({ data }: MessageEvent<ToReplayer>) => {
  if ('kept' in data) postMessage({ found: replay(data) } satisfies FromReplayer);
});
