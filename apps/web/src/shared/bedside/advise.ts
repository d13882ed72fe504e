/**
 * What the protocol says after an entry, as the payload of the entry that keeps its answer. The engine and its tables
 * are loaded when they are first wanted, so that the page opens without them.
 *
 * In       the facts that include the new entries, those entries, and the versions that this tablet knows
 * Out      what to record beside them; or why no step is advised, as a refusal that is shown and holds nothing up;
 *          undefined when what happened asks the protocol nothing
 */
import type { PatientFacts } from '@ebbline/core/facts';
import type { Refusal } from '@ebbline/core/quantity';
import { isRefusal, refuse } from '@ebbline/core/quantity';
import type { Entry, PayloadOf } from '@ebbline/core/record';
import type { ProtocolVersion } from '@ebbline/protocol';

/** Loads the engine ahead of the first save, so that the step is there when the thumb is. */
export function warmUp(): void {
  void import('@ebbline/protocol').catch(() => undefined);
}

export async function adviseAfter(
  facts: PatientFacts,
  entries: readonly Entry[],
  zone: string,
  versions: readonly ProtocolVersion[],
): Promise<PayloadOf<'step-advised'> | Refusal | undefined> {
  if (facts.watch.state !== 'open') return undefined;
  let protocol: typeof import('@ebbline/protocol');
  try {
    protocol = await import('@ebbline/protocol');
  } catch {
    // Out of reach on a tablet that never loaded it: the entry is kept all the same.
    return refuse('entry/no-protocol', {
      asked: 'Next step',
      found: 'no protocol on this tablet',
      allowed: 'the unit’s protocol',
      todo: 'Decide without it, and write down the next look.',
    });
  }
  for (const entry of entries) {
    const trigger = protocol.triggerOf(entry.kind, entry.payload);
    if (trigger === undefined) continue;
    const goesBy = protocol.protocolFor(facts.watch, facts.ward, versions);
    const advice = protocol.adviseFrom(facts, trigger, zone, goesBy);
    return isRefusal(advice) ? advice : protocol.advicePayload(advice, entry.effectiveAt, entry.id);
  }
  return undefined;
}
