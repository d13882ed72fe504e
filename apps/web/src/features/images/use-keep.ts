/** Keeps a reading with the protocol's next step beside it, says what was saved, and goes to the patient. */
import { isRefusal, type Refusal } from '@ebbline/core/quantity';
import type { PayloadOf } from '@ebbline/core/record';
import { adviseAfter } from '../../shared/bedside/advise.ts';
import { saved } from '../../shared/bedside/saved.ts';
import { goTo } from '../../shell/address.ts';
import { nowMs } from '../../shell/clock.ts';
import { useReplica, useThisWard } from '../../shell/hooks.ts';
import type { Draft } from '../../shell/replica.ts';

/** Gives back why it could not be kept; nothing of the page is lost then. */
export function useKeep(
  patient: string,
): (payload: PayloadOf<'reading'>, words: string) => Promise<Refusal | undefined> {
  const replica = useReplica();
  const ward = useThisWard();
  return async (payload, words) => {
    const draft: Draft = { patient, kind: 'reading', payload };
    const prepared = replica.prepare([draft]);
    if (isRefusal(prepared)) return prepared;
    const advised = await adviseAfter(
      replica.factsWith(patient, prepared),
      prepared,
      ward.zone,
      replica.protocols(),
    );
    const [first] = prepared;
    const step: readonly Draft[] =
      advised === undefined || isRefusal(advised) || !first
        ? []
        : [{ patient, kind: 'step-advised', payload: advised, effectiveAt: first.effectiveAt }];
    const kept = await replica.record([
      { ...draft, ...(first ? { id: first.id, effectiveAt: first.effectiveAt } : {}) },
      ...step,
    ]);
    if (isRefusal(kept)) return kept;
    saved.say({
      patient,
      ids: kept.map((entry) => entry.id),
      atMs: nowMs(),
      words,
      ...(advised !== undefined && isRefusal(advised) ? { noStep: advised.todo } : {}),
    });
    goTo('patient', patient);
    return undefined;
  };
}
