/**
 * What would change for one patient if their watch went by the version in force instead of the one that it keeps: the
 * tables in words, and the step that stands now, asked again of both for what led to it.
 *
 * In        facts now, a fold of the same entries at an earlier instant, the versions that are known here
 * Out       undefined when the watch keeps what is in force, or keeps none yet
 */
import { controlIsOn, instantMs, isRefusal, type Instant, type Refusal } from '@ebbline/core/quantity';
import type { PatientFacts } from '@ebbline/core/facts';
import type { Advice, Entry, PayloadOf } from '@ebbline/core/record';
import { answerProtocol } from '../answer-protocol.ts';
import type { CompiledProtocol } from '../compile-protocol.ts';
import { advicePayload, protocolInputOf, triggerOf } from '../from-facts.ts';
import { changesBetween, type RowChange } from '../words/changes.ts';
import { protocolKept, protocolNow, type ProtocolVersion } from './versions.ts';

export interface MoveOffer {
  readonly from: { readonly id: string; readonly version: number };
  readonly to: CompiledProtocol;
  /** Undefined when the tables of the kept version are not here. */
  readonly changes: readonly RowChange[] | undefined;
  /** What led to the step that stands now. */
  readonly because: Entry;
  /** What the kept version answers to it; undefined when its tables are not here. */
  readonly before: Advice | Refusal | undefined;
  readonly after: Advice | Refusal;
}

interface Asked {
  readonly facts: PatientFacts;
  readonly factsAt: (atMs: number) => PatientFacts;
  readonly versions: readonly ProtocolVersion[];
  readonly zone: string;
}

export function moveOffer({ facts, factsAt, versions, zone }: Asked): MoveOffer | undefined {
  const { watch } = facts;
  if (watch.state !== 'open' || watch.protocol === undefined || watch.setting === undefined) return undefined;
  const from = watch.protocol;
  const to = protocolNow(versions, facts.ward, watch.setting);
  if (!to || (to.id === from.id && to.version === from.version)) return undefined;
  const because = ledToTheStep(facts);
  const trigger = because && triggerOf(because.kind, because.payload);
  if (!because || trigger === undefined) return undefined;
  const input = protocolInputOf(factsAt(instantMs(because.effectiveAt)), trigger, zone);
  const kept = protocolKept(versions, from);
  const answer = (protocol: CompiledProtocol): Advice | Refusal =>
    isRefusal(input) ? input : answerProtocol(protocol, input);
  return {
    from,
    to,
    changes: kept && changesBetween(kept, to),
    because,
    before: kept && answer(kept),
    after: answer(to),
  };
}

/** The live entry that the last advised step answered, else the opening of the watch. */
function ledToTheStep({ timeline, watch }: PatientFacts): Entry | undefined {
  const live = timeline.filter((one) => one.standing.state === 'live').map((one) => one.entry);
  const advised = live.findLast((one) => one.kind === 'step-advised' && one.payload.becauseOf !== undefined);
  const id = advised?.kind === 'step-advised' ? advised.payload.becauseOf : undefined;
  return live.find((one) => one.id === id) ?? live.find((one) => one.id === watch.openedBy);
}

/**
 * What moving a watch adds to the record. The step counts from what led to it, not from the move: a look that is overdue
 * stays overdue unless the other version itself gives it a later time.
 */
export function moveEntries({ to, after, because }: MoveOffer): MoveEntries | Refusal {
  if (isRefusal(after)) return after;
  return {
    moved: { protocolId: to.id, protocolVersion: to.version },
    step: advicePayload(after, because.effectiveAt, because.id),
    ...(controlIsOn('H6-move-keeps-overdue') ? { stepAt: because.effectiveAt } : {}),
  };
}

export interface MoveEntries {
  readonly moved: PayloadOf<'protocol-moved'>;
  readonly step: PayloadOf<'step-advised'>;
  /** When the step is effective from. Absent only when the control is switched off: now. */
  readonly stepAt?: Instant;
}
