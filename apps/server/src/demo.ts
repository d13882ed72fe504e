/** The made-up coast, put into a fresh store as its server would have received it. */
import { instantMs, isRefusal } from '@ebbline/core/quantity';
import { foldPatient } from '@ebbline/core/facts';
import { adviseFrom, advicePayload, triggerOf } from '@ebbline/protocol';
import { demoWorld, organisation, type Advise } from '@ebbline/simulate';
import type { Directory, Entry } from '@ebbline/core/record';
import type { EntryStore } from '@ebbline/store';
import type { Demo } from './parts.ts';

export const demo: Demo = { secret: 'demo', pin: '1234' };
export const demoOrganisation = organisation;
const demoSeed = 20_260_512;

/** Asks the shipped example protocols, so that the demo quotes the rows that the screens would. */
function adviser(directory: Directory): Advise {
  return (entries, because) => {
    const trigger = triggerOf(because.kind, because.payload);
    if (trigger === undefined) return undefined;
    const nowMs = instantMs(because.effectiveAt);
    const place = entries.findLast((one) => one.kind === 'patient-registered' || one.kind === 'transferred');
    const ward = directory.wards.find(
      (one) =>
        (place?.kind === 'patient-registered' || place?.kind === 'transferred') &&
        one.id === place.payload.ward,
    );
    if (ward === undefined) return undefined;
    const facts = foldPatient({
      patient: because.patient,
      entries,
      nowMs,
      settings: ward.settings,
      zone: ward.zone,
    });
    const advice = adviseFrom(facts, trigger, ward.zone);
    return isRefusal(advice) ? undefined : advicePayload(advice, because.effectiveAt, because.id);
  };
}

export interface DemoWorld {
  readonly directory: Directory;
  readonly entries: readonly Entry[];
}

export function makeDemoWorld(nowMs: number, pastEpisodes = 60): DemoWorld {
  const { directory } = demoWorld({ seed: demoSeed, nowMs, pastEpisodes: 0 });
  return demoWorld({ seed: demoSeed, nowMs, advise: adviser(directory), pastEpisodes });
}

export async function loadDemo(store: EntryStore, { entries }: DemoWorld): Promise<void> {
  const result = await store.append(entries, { receivedAt: (entry) => entry.recordedAt, actor: 'demo' });
  if (result.refused.length > 0)
    throw new Error(
      `the demo has ${result.refused.length} entries that the store refuses: ${result.refused[0]?.refusal.code}`,
    );
}
