/**
 * What the protocol says after an entry, as the entry that keeps its answer. The engine and its tables are loaded when
 * they are first wanted, so that the page opens without them.
 *
 * In       the facts that include the new entries, what has happened, the entry that led to it
 * Out      what to record beside it; or why no step is advised, as a refusal that is shown and holds nothing up
 */
import type { PatientFacts } from '@ebbline/core/facts';
import { instantInZone, instantMs, isRefusal, minuteMs, refuse, type Refusal } from '@ebbline/core/quantity';
import type { Advice, Entry, EntryKind, PayloadOf } from '@ebbline/core/record';

/** What has happened, in the words of the protocol; an entry that is not here asks the protocol nothing. */
const triggerOf: Partial<Record<EntryKind, string>> = {
  reading: 'reading',
  void: 'void',
  drained: 'drained',
  symptom: 'symptom',
  'red-flag': 'symptom',
  'watch-opened': 'watch-opened',
  'catheter-removed': 'catheter-removed',
};

interface Engine {
  readonly adviseFrom?: (facts: PatientFacts, trigger: never) => Advice | Refusal;
}

/** The entry that leads to advice, among those of one save. */
export function leadingEntry(entries: readonly Entry[]): Entry | undefined {
  return entries.find((entry) => triggerOf[entry.kind] !== undefined);
}

export function adviceAsPayload(advice: Advice, because: Entry, zone: string): PayloadOf<'step-advised'> {
  return {
    step: advice.step,
    dueAt: instantInZone(instantMs(because.effectiveAt) + advice.dueInMin * minuteMs, zone),
    ownerRole: advice.ownerRole,
    why: advice.why,
    ...(advice.tell === undefined ? {} : { tell: advice.tell }),
    rowId: advice.row.id,
    rowText: advice.row.text,
    rowSourceId: advice.row.sourceId,
    protocolId: advice.protocol.id,
    protocolVersion: advice.protocol.version,
    protocolApproval: advice.protocol.approval === 'example-not-approved' ? 'example-not-approved' : 'signed',
    becauseOf: because.id,
  };
}

/** Loads the engine ahead of the first save, so that the step is there when the thumb is. */
export function warmUp(): void {
  void import('@ebbline/protocol').catch(() => undefined);
}

export async function adviseAfter(
  facts: PatientFacts,
  entries: readonly Entry[],
  zone: string,
): Promise<PayloadOf<'step-advised'> | Refusal | undefined> {
  const because = leadingEntry(entries);
  if (!because || facts.watch.state !== 'open') return undefined;
  let engine: Engine;
  try {
    engine = (await import('@ebbline/protocol')) as unknown as Engine;
  } catch {
    engine = {};
  }
  if (!engine.adviseFrom) {
    return refuse('entry/no-protocol', {
      asked: 'Next step',
      found: 'no protocol on this tablet',
      allowed: 'the unit’s protocol',
      todo: 'Decide without it, and write down the next look.',
    });
  }
  const advice = engine.adviseFrom(facts, triggerOf[because.kind] as never);
  return isRefusal(advice) ? advice : adviceAsPayload(advice, because, zone);
}
