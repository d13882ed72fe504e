/**
 * The life of one draft: kept as it grows, questioned, recorded together with the step that the protocol answers, and
 * taken out of the way when it was saved.
 */
import { useEffect, useMemo, useRef, useState } from 'react';
import { questionBetween, type Question } from '@ebbline/core/facts';
import { isRefusal, type Refusal } from '@ebbline/core/quantity';
import { timelineRows, type FormSpec } from '@ebbline/core/present';
import { mayWrite, type Entry } from '@ebbline/core/record';
import { adviseAfter, warmUp } from '../../shared/bedside/advise.ts';
import { saved } from '../../shared/bedside/saved.ts';
import { goTo } from '../../shell/address.ts';
import { nowMs as clockNow } from '../../shell/clock.ts';
import { useFacts, useMe, useReplica } from '../../shell/hooks.ts';
import type { Draft as Recorded } from '../../shell/replica.ts';
import { emptyDraft, type Draft } from './draft.ts';
import { draftInMemory, draftOnTablet, forgetDraft, keepDraft } from './drafts.ts';
import { remember, rememberedFor } from './remembered.ts';
import { savedWords } from './say.ts';
import { recordedAs } from './to-entries.ts';

/** The entry whose place a new one takes, already in the form. */
export interface Correcting {
  readonly entry: Entry;
  readonly draft: Draft;
}

export interface EntryInHand {
  readonly draft: Draft;
  readonly change: (next: Draft) => void;
  readonly refusal: Refusal | undefined;
  readonly setRefusal: (refusal: Refusal | undefined) => void;
  readonly question: Question | undefined;
  readonly setQuestion: (question: Question | undefined) => void;
  readonly busy: boolean;
  /** Records it and goes back to the patient; `asItStands` after a question was answered. */
  readonly save: (asItStands: boolean) => Promise<void>;
  readonly leave: () => void;
}

export function useEntry(
  spec: FormSpec,
  patient: string,
  zone: string,
  correcting: Correcting | undefined,
): EntryInHand {
  const replica = useReplica();
  const facts = useFacts(patient);
  const me = useMe();
  const remembered = useMemo(() => rememberedFor(me.id, spec.remembers ?? []), [me.id, spec]);
  const [draft, setDraft] = useState<Draft>(
    () =>
      correcting?.draft ?? draftInMemory(me.id, patient, spec.id) ?? emptyDraft(spec.id, patient, remembered),
  );
  const [refusal, setRefusal] = useState<Refusal>();
  const [question, setQuestion] = useState<Question>();
  const [busy, setBusy] = useState(false);
  const changed = useRef(false);

  useEffect(warmUp, []);
  useEffect(() => {
    if (correcting) return;
    let gone = false;
    void draftOnTablet(me.id, patient, spec.id).then((kept) => {
      if (kept && !gone && !changed.current) setDraft(kept);
    });
    return () => {
      gone = true;
    };
  }, [correcting, me.id, patient, spec.id]);

  const change = (next: Draft): void => {
    changed.current = true;
    setDraft(next);
    setRefusal(undefined);
    setQuestion(undefined);
    if (!correcting) keepDraft(me.id, next, remembered);
  };
  const leave = (): void => goTo('patient', patient);
  const save = async (asItStands: boolean): Promise<void> => {
    if (busy) return;
    const writer = { author: me.id, nowMs: clockNow(), zone };
    const recorded = recordedAs(draft, facts, writer);
    if (isRefusal(recorded)) return setRefusal(recorded);
    const prepared = replica.prepare(recorded);
    if (isRefusal(prepared)) return setRefusal(prepared);
    const then = replica.factsWith(patient, prepared);
    if (!asItStands) {
      const asked = questionBetween(facts, then, prepared, zone);
      if (asked) return setQuestion(asked);
    }
    setBusy(true);
    const advised = mayWrite(me.role, 'step-advised')
      ? await adviseAfter(then, prepared, zone, replica.protocols())
      : undefined;
    const bedside = recorded.map(
      (one, index) =>
        ({ ...one, id: prepared[index]?.id, effectiveAt: prepared[index]?.effectiveAt }) as Recorded,
    );
    const because = prepared.find(
      (entry) => advised !== undefined && !isRefusal(advised) && entry.id === advised.becauseOf,
    );
    const step: readonly Recorded[] =
      advised === undefined || isRefusal(advised) || !because
        ? []
        : [{ patient, kind: 'step-advised', payload: advised, effectiveAt: because.effectiveAt }];
    const kept = await replica.record([...bedside, ...step]);
    setBusy(false);
    if (isRefusal(kept)) return setRefusal(kept);
    forgetDraft(me.id, patient, spec.id);
    remember(me.id, spec.remembers ?? [], draft.values);
    saved.say({
      patient,
      ids: kept.map((entry) => entry.id),
      atMs: clockNow(),
      words: savedWords(
        spec,
        draft,
        timelineRows(replica.factsOf(patient), zone, replica.directory()).find(
          (row) => row.id === kept.find((entry) => entry.kind === spec.kind)?.id,
        ),
      ),
      ...(advised !== undefined && isRefusal(advised) ? { noStep: advised.todo } : {}),
    });
    leave();
  };

  return { draft, change, refusal, setRefusal, question, setQuestion, busy, save, leave };
}
