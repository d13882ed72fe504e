/**
 * Patients who moved to another ward and whom nobody there has accepted: whoever had them has them still, and their own
 * ward's lists no longer show them.
 */
import type { PatientFacts } from '@ebbline/core/facts';
import type { Entry } from '@ebbline/core/record';

export function stillMine(
  entries: readonly Entry[],
  ward: string,
  person: string,
  factsOf: (patient: string) => PatientFacts,
): readonly PatientFacts[] {
  const moved = new Set(entries.filter((one) => one.kind === 'transferred').map((one) => one.patient));
  return [...moved]
    .map(factsOf)
    .filter(
      (facts) =>
        facts.ward !== ward &&
        facts.owner.kind === 'person' &&
        facts.owner.person === person &&
        (facts.watch.state === 'open' || facts.watch.state === 'paused' || facts.due.length > 0),
    );
}
