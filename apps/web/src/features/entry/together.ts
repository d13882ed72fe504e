/**
 * Several events of one patient as one save: in the order in which they happened, each checked against what came before it,
 * all of them or none. A void on the paper is known to the reading that stands after it.
 *
 * In       rows in event order, the patient's facts, what the replica can work out without keeping anything
 * Out      what the replica records, with the questions that a person has to answer first; or the row that can't be recorded
 */
import { questionBetween, type PatientFacts, type Question } from '@ebbline/core/facts';
import { instantMs, isRefusal, refuse, type Refusal } from '@ebbline/core/quantity';
import type { Entry, PayloadOf } from '@ebbline/core/record';
import type { Draft as Recorded, Replica } from '../../shell/replica.ts';
import { paperFormOf, type TimedRow } from './paper-rows.ts';
import { recordedAs, type Writer } from './to-entries.ts';

export interface AskedOfRow {
  readonly row: number;
  readonly question: Question;
}

export interface Together {
  readonly recorded: readonly Recorded[];
  /** The same as whole entries, not kept yet. */
  readonly prepared: readonly Entry[];
  readonly questions: readonly AskedOfRow[];
  /** What would be true with all of them. */
  readonly facts: PatientFacts;
}

export interface NotTogether {
  readonly row: number;
  readonly refusal: Refusal;
}

const notNow = (found: string): Refusal =>
  refuse('entry/not-now', {
    asked: 'Entry',
    found,
    allowed: 'what fits the record and the rows above',
    todo: 'Check the time and the kind of this row.',
  });

export function together(
  rows: readonly TimedRow[],
  before: PatientFacts,
  replica: Pick<Replica, 'prepare' | 'factsWith'>,
  writer: Writer,
): Together | NotTogether {
  let facts = before;
  const recorded: Recorded[] = [];
  const prepared: Entry[] = [];
  const questions: AskedOfRow[] = [];
  for (const { row, draft } of rows) {
    const no = (refusal: Refusal): NotTogether => ({ row: row.key, refusal });
    const blocked = paperFormOf(draft.form)?.notNow?.(facts);
    if (blocked !== undefined) return no(notNow(blocked));
    const made = recordedAs(draft, facts, writer);
    if (isRefusal(made)) return no(made);
    const copied = made.map((one) => ({ ...one, copiedFrom: 'paper' }) as Recorded);
    const entries = replica.prepare(copied);
    if (isRefusal(entries)) return no(entries);
    const then = replica.factsWith(before.patient, [...prepared, ...entries]);
    const question = questionBetween(facts, then, entries, writer.zone);
    if (question) questions.push({ row: row.key, question });
    prepared.push(...entries);
    recorded.push(
      ...copied.map(
        (one, index) =>
          ({ ...one, id: entries[index]?.id, effectiveAt: entries[index]?.effectiveAt }) as Recorded,
      ),
    );
    facts = then;
  }
  return { recorded, prepared, questions, facts };
}

/** Live entries of the patient, the one that happened last first: the protocol is asked about that one, from paper or not. */
export const latestFirst = (facts: PatientFacts): readonly Entry[] =>
  facts.timeline
    .filter((one) => one.standing.state === 'live')
    .map((one) => one.entry)
    .toReversed();

/** True when the advice that stands for an entry says the same: nothing is advised a second time. */
export function saidAlready(facts: PatientFacts, advised: PayloadOf<'step-advised'>): boolean {
  const standing = latestFirst(facts).find((one) => one.kind === 'step-advised');
  return (
    standing?.kind === 'step-advised' &&
    standing.payload.becauseOf === advised.becauseOf &&
    standing.payload.rowId === advised.rowId &&
    instantMs(standing.payload.dueAt) === instantMs(advised.dueAt)
  );
}
