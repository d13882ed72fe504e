/** The made-up coast, its steps advised by the starters as the screens would. */
import { foldPatient, type WardRules } from '@ebbline/core/facts';
import { instantMs, isRefusal } from '@ebbline/core/quantity';
import { defaultSettings, type Entry } from '@ebbline/core/record';
import { advicePayload, adviseFrom, triggerOf } from '@ebbline/protocol';
import { coastDirectory, coastZone, demoWorld } from '@ebbline/simulate';
import type { Kept } from '../episodes.ts';

export const nowMs = Date.UTC(2026, 4, 12, 16, 30);

const rules: WardRules = { settings: defaultSettings, zone: coastZone };
export const wardOf = (id: string): WardRules => coastDirectory().wards.find((one) => one.id === id) ?? rules;

let made: readonly Entry[] | undefined;

/** Made once: the same for every test. */
export function coastEntries(): readonly Entry[] {
  made ??= demoWorld({
    seed: 20_260_512,
    nowMs,
    pastEpisodes: 16,
    advise: (entries, because) => {
      const trigger = triggerOf(because.kind, because.payload);
      const place = entries.findLast((one) => one.kind === 'patient-registered');
      if (trigger === undefined || place === undefined) return undefined;
      const { settings, zone } = wardOf(place.payload.ward);
      const facts = foldPatient({
        patient: because.patient,
        entries,
        nowMs: instantMs(because.effectiveAt),
        settings,
        zone,
      });
      const advice = adviseFrom(facts, trigger, zone);
      return isRefusal(advice) ? undefined : advicePayload(advice, because.effectiveAt, because.id);
    },
  }).entries;
  return made;
}

export const keptOf = (entries: readonly Entry[]): readonly Kept[] =>
  entries.map((entry) => ({ entry, receivedAt: entry.recordedAt }));
