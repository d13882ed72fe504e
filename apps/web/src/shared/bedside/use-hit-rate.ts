/**
 * How often the estimate was right, over what this tablet keeps. Worked out piece by piece between frames, kept for each
 * patient until an entry of theirs comes: a new entry costs its own patient alone.
 */
import { useEffect, useState } from 'react';
import {
  hitRateBook,
  hitRateOf,
  type HitPair,
  type HitRate,
  type HitRateBook,
  type WardRules,
} from '@ebbline/core/facts';
import { defaultSettings } from '@ebbline/core/record';
import { nowMs } from '../../shell/clock.ts';
import { useDirectory, useEntries, useReplica } from '../../shell/hooks.ts';
import type { Replica } from '../../shell/replica.ts';

export type PatientPair = HitPair & { readonly patient: string };

export interface HitRates {
  readonly ward: HitRate;
  readonly everywhere: HitRate;
  /** Pairs of the ward. */
  readonly pairs: readonly PatientPair[];
}

const sliceMs = 8;
const unknownWard: WardRules = { settings: defaultSettings, zone: 'UTC' };
const books = new WeakMap<Replica, HitRateBook>();

/** Undefined while it is worked out for the first time. */
export function useHitRate(wardId: string): HitRates | undefined {
  const replica = useReplica();
  const directory = useDirectory();
  const entries = useEntries();
  const [rates, setRates] = useState<HitRates>();

  useEffect(() => {
    let book = books.get(replica);
    if (!book) books.set(replica, (book = hitRateBook()));
    const { pairsOf } = book;
    const byWard = new Map(directory.wards.map((ward) => [ward.id, ward]));
    const wardOf = (ward: string): WardRules => byWard.get(ward) ?? unknownWard;
    const waiting = entries.length === 0 ? [] : [...replica.patients()];
    const found: PatientPair[] = [];
    let timer: ReturnType<typeof setTimeout>;
    const slice = (): void => {
      const startedMs = nowMs();
      while (waiting.length > 0 && nowMs() - startedMs <= sliceMs) {
        const patient = waiting.pop() as string;
        for (const pair of pairsOf({ patient, entries: replica.entriesOf(patient), wardOf }))
          found.push({ ...pair, patient });
      }
      if (waiting.length > 0) {
        timer = setTimeout(slice, 0);
        return;
      }
      const pairs = found.filter((one) => one.ward === wardId);
      setRates({ ward: hitRateOf(pairs), everywhere: hitRateOf(found), pairs });
    };
    // After the page has been drawn: nobody waits for this figure.
    timer = setTimeout(slice, 0);
    return () => clearTimeout(timer);
  }, [directory, entries, replica, wardId]);

  return rates;
}
