/**
 * The question before a save: does what is known still add up with this entry? It names the sum that fails and what
 * to check. It never offers another number, and one touch saves the entry as it stands.
 *
 * In      what the filling room observes without and with the new entries
 * Out     the sum in words, or undefined when nothing new fails
 */
import { massBalance, type BalanceSpan, type FillingObservation } from '@ebbline/core/filling';
import { observationsOf, type PatientFacts } from '@ebbline/core/facts';
import { controlIsOn, isRefusal } from '@ebbline/core/quantity';

export interface Question {
  /** The sum that fails, as a sentence. */
  readonly sum: string;
  readonly check: string;
  /** The stretch of time that the sum is about. */
  readonly fromMs: number;
  readonly toMs: number;
}

const keyOf = (span: BalanceSpan): string => `${span.fromMs} ${span.toMs} ${span.finding?.code ?? ''}`;

export function questionAbout(
  before: readonly FillingObservation[],
  after: readonly FillingObservation[],
): Question | undefined {
  if (!controlIsOn('H4-digits')) return undefined;
  const old = massBalance(before);
  const now = massBalance(after);
  if (isRefusal(now)) return undefined;
  const known = new Set(isRefusal(old) ? [] : old.map(keyOf));
  const fresh = now.find((span) => span.finding !== undefined && !known.has(keyOf(span)));
  if (!fresh?.finding) return undefined;
  return {
    sum: fresh.finding.sum,
    fromMs: fresh.fromMs,
    toMs: fresh.toMs,
    check:
      fresh.finding.code === 'too-much'
        ? 'Check the number, the patient and the last drain.'
        : 'Check the number and the patient. Was something passed or drained that nobody wrote down?',
  };
}

/** The same, from the facts as they are and as they would be. */
export function questionBetween(facts: PatientFacts, withEntry: PatientFacts): Question | undefined {
  const live = (one: PatientFacts): readonly FillingObservation[] => {
    const entries = one.timeline
      .filter(({ standing }) => standing.state === 'live')
      .map(({ entry }) => entry);
    return observationsOf(entries, Number.POSITIVE_INFINITY);
  };
  return questionAbout(live(facts), live(withEntry));
}
