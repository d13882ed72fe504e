/** How the proof of a draft stands, in one line; and what keeps it from the bedside. */
import type { ReactNode } from 'react';
import { isRefusal } from '@ebbline/core/quantity';
import { Key } from '../../shared/key.tsx';
import type { ProofState } from './use-proof.ts';
import styles from './editor.module.css';

const count = (number: number, one: string): string => `${number} ${one}${number === 1 ? '' : 's'}`;

/** `Proved: every patient has one safe answer.` or how many faults there are. */
export function proofWords(proof: ProofState): string {
  if (proof.state === 'proving') return 'Proving…';
  if (isRefusal(proof.proof)) return `Not proved. ${proof.proof.todo}`;
  const { faults, kinds, whole } = proof.proof;
  if (faults.length > 0) return `Not proved: ${whole ? '' : 'at least '}${count(faults.length, 'fault')}.`;
  return `Proved: every patient has one safe answer (${kinds} kinds told apart).`;
}

/** What stands between a draft and the bedside. A proof alone publishes nothing: a person of the unit signs for it. */
export function publishWords(proof: ProofState): string {
  if (proof.state === 'proving') return 'Wait for the proof.';
  if (isRefusal(proof.proof)) return `This draft can’t be published: it is not proved. ${proof.proof.todo}`;
  const { faults, whole } = proof.proof;
  if (faults.length > 0)
    return `This draft can’t be published: ${whole ? '' : 'at least '}${count(faults.length, 'fault')} must be put right first.`;
  return 'This draft is proved. It advises nobody until a second person of the unit has read and signed it. What is sent can’t be changed any more; the draft leaves this tablet.';
}

export function ProofLine({
  proof,
  onGoTo,
}: {
  readonly proof: ProofState;
  readonly onGoTo: (decision: string) => void;
}): ReactNode {
  const fault = proof.state === 'proved' && !isRefusal(proof.proof) ? proof.proof.faults[0] : undefined;
  return (
    <>
      <output className={styles['proof']} data-proof={proof.state}>
        {proofWords(proof)}
      </output>
      {fault ? <Key onClick={() => onGoTo(fault.decision)}>See the first fault</Key> : null}
    </>
  );
}
