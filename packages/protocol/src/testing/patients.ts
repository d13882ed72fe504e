/** For tests: a comfortable adult after surgery, and seeded random patients near every edge of the starter tables. */
import { seededRandom, type RandomSource } from '@ebbline/core/quantity';
import type { WatchSetting } from '@ebbline/core/record';
import {
  doNotDrains,
  overLimits,
  protocolRedFlags,
  triggers,
  trusts,
  volumeKinds,
  type ProtocolInput,
} from '../dictionary.ts';

export const comfortable: ProtocolInput = {
  trigger: 'reading',
  setting: 'after-surgery',
  volumeMl: 240,
  volumeKind: 'exact',
  relation: 'before-void',
  discomfort: false,
  redFlag: 'none',
  residualLate: false,
  looksSoFar: 1,
  drainsSoFar: 0,
  voidsSoFar: 0,
  lowResidualsInARow: 0,
  ageBand: 'adult',
  limitMl: 600,
  overLimit: 'no',
  doNotDrain: 'none',
  catheterInPlace: false,
  trust: 'good',
};

/** Volumes at, just under and just above every number that the starter tables name. */
export const edgeVolumesMl: readonly number[] = [
  0, 60, 99, 100, 149, 150, 151, 179, 180, 249, 250, 251, 399, 400, 401, 499, 500, 501, 560, 599, 600, 601,
  690, 1200,
];
const edgeMinutes: readonly number[] = [0, 1, 29, 30, 90, 239, 240, 359, 360, 361, 720];

/** Leaves a field out when there is no value. */
const field = <Key extends string, Value>(
  key: Key,
  value: Value | undefined,
): { readonly [K in Key]?: Value } =>
  (value === undefined ? {} : { [key]: value }) as { readonly [K in Key]?: Value };

const perhaps = <Value>(random: RandomSource, values: readonly Value[]): Value | undefined =>
  random.next() < 0.3 ? undefined : random.pick(values);

/** The fields that only some rows look at, at random; so that a grid over the rest stays small. */
export function randomRest(random: RandomSource): Partial<ProtocolInput> {
  return {
    ...field('residualMl', perhaps(random, edgeVolumesMl)),
    ...field('voidedMl', perhaps(random, edgeVolumesMl)),
    ...field('sinceEmptiedMin', perhaps(random, edgeMinutes)),
    ...field('sinceCatheterOutMin', perhaps(random, edgeMinutes)),
    ...field('crossingInMin', perhaps(random, edgeMinutes)),
    residualLate: random.next() < 0.5,
    lowResidualsInARow: random.below(4),
    voidsSoFar: random.below(3),
    looksSoFar: random.below(6),
    limitMl: random.pick([200, 400, 500, 600, 800]),
    ageBand: random.pick(['adult', 'over-75'] as const),
    relation: random.pick(['before-void', 'after-void', 'unknown'] as const),
    ...field('instilledMl', random.next() < 0.5 ? undefined : random.pick([0, 200, 300, 400])),
    ...field(
      'voidedOfInstilledPercent',
      random.next() < 0.4 ? undefined : random.pick([0, 50, 66.65, 66.66, 67, 100, 1000]),
    ),
  };
}

/** Any adult in the setting; every field at random, volume and kind in keeping. */
export function randomPatient(random: RandomSource, setting: WatchSetting): ProtocolInput {
  const volumeKind = random.pick(volumeKinds);
  const hasVolume = volumeKind === 'exact' || volumeKind === 'at-least';
  const { volumeMl: _, ...base } = comfortable;
  return {
    ...base,
    ...randomRest(random),
    setting,
    volumeKind,
    ...(hasVolume ? { volumeMl: random.pick(edgeVolumesMl) } : {}),
    trigger: random.pick(triggers),
    discomfort: random.next() < 0.2,
    redFlag: random.next() < 0.8 ? 'none' : random.pick(protocolRedFlags),
    overLimit: random.pick(overLimits),
    doNotDrain: random.next() < 0.5 ? 'none' : random.pick(doNotDrains),
    drainsSoFar: random.below(4),
    catheterInPlace: random.next() < 0.2,
    trust: random.pick(trusts),
  };
}

export const seeded = (seed: number): RandomSource => seededRandom(seed);
