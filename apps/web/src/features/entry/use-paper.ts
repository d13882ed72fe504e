/** The life of a sheet of paper at the tablet: rows kept as they grow, checked together, saved all or none, with the step after them. */
import { useEffect, useRef, useState } from 'react';
import { isRefusal, type Refusal } from '@ebbline/core/quantity';
import { mayWrite } from '@ebbline/core/record';
import { adviseAfter, warmUp } from '../../shared/bedside/advise.ts';
import { saved } from '../../shared/bedside/saved.ts';
import { goTo } from '../../shell/address.ts';
import { nowMs as clockNow } from '../../shell/clock.ts';
import { useFacts, useMe, useReplica } from '../../shell/hooks.ts';
import type { Draft as Recorded } from '../../shell/replica.ts';
import { draftInMemory, draftOnTablet, forgetDraft, keepDraft } from './drafts.ts';
import {
  draftOfRows,
  inEventOrder,
  nextRow,
  paperDraftForm,
  rowsOfDraft,
  type PaperRow,
} from './paper-rows.ts';
import { latestFirst, saidAlready, together, type AskedOfRow } from './together.ts';

export interface PaperInHand {
  readonly rows: readonly PaperRow[];
  readonly change: (rows: readonly PaperRow[]) => void;
  readonly fault: { readonly row: number; readonly refusal: Refusal } | undefined;
  readonly questions: readonly AskedOfRow[];
  readonly busy: boolean;
  readonly save: (asTheyStand: boolean) => Promise<void>;
}

export function usePaper(patient: string, zone: string, first: string): PaperInHand {
  const replica = useReplica();
  const facts = useFacts(patient);
  const me = useMe();
  const [rows, setRows] = useState<readonly PaperRow[]>(
    () => rowsOfDraft(draftInMemory(me.id, patient, paperDraftForm)) ?? [nextRow(patient, [], first)],
  );
  const [fault, setFault] = useState<{ row: number; refusal: Refusal }>();
  const [questions, setQuestions] = useState<readonly AskedOfRow[]>([]);
  const [busy, setBusy] = useState(false);
  const changed = useRef(false);

  useEffect(warmUp, []);
  useEffect(() => {
    let gone = false;
    void draftOnTablet(me.id, patient, paperDraftForm).then((kept) => {
      const before = rowsOfDraft(kept);
      if (before && !gone && !changed.current) setRows(before);
    });
    return () => {
      gone = true;
    };
  }, [me.id, patient]);

  const change = (next: readonly PaperRow[]): void => {
    changed.current = true;
    setRows(next);
    setFault(undefined);
    setQuestions([]);
    keepDraft(me.id, draftOfRows(patient, next));
  };

  const save = async (asTheyStand: boolean): Promise<void> => {
    if (busy) return;
    const nowMs = clockNow();
    const ordered = inEventOrder(rows, nowMs, zone);
    if ('refusal' in ordered) return setFault(ordered);
    if (ordered.length === 0) return;
    const all = together(ordered, facts, replica, { author: me.id, nowMs, zone });
    if ('refusal' in all) return setFault(all);
    if (!asTheyStand && all.questions.length > 0) return setQuestions(all.questions);
    setBusy(true);
    // Asked about what happened last: when that is already in the record, its step was advised without these rows.
    const latest = latestFirst(all.facts);
    const advised = mayWrite(me.role, 'step-advised')
      ? await adviseAfter(all.facts, latest, zone, replica.protocols())
      : undefined;
    const because =
      advised === undefined || isRefusal(advised)
        ? undefined
        : latest.find((entry) => entry.id === advised.becauseOf);
    const step: readonly Recorded[] =
      advised === undefined || isRefusal(advised) || !because || saidAlready(all.facts, advised)
        ? []
        : [{ patient, kind: 'step-advised', payload: advised, effectiveAt: because.effectiveAt }];
    const kept = await replica.record([...all.recorded, ...step]);
    setBusy(false);
    if (isRefusal(kept)) return setFault({ row: ordered.at(-1)?.row.key ?? 0, refusal: kept });
    forgetDraft(me.id, patient, paperDraftForm);
    saved.say({
      patient,
      ids: kept.map((entry) => entry.id),
      atMs: clockNow(),
      words: `${ordered.length === 1 ? '1 entry' : `${ordered.length} entries`} from paper`,
      ...(advised !== undefined && isRefusal(advised) ? { noStep: advised.todo } : {}),
    });
    goTo('patient', patient);
  };

  return { rows, change, fault, questions, busy, save };
}
