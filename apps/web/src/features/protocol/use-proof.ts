/** The proof of a draft as it is edited: asked for when the edits pause, given up when the next one comes. */
import { useEffect, useState } from 'react';
import { refuse, type Refusal } from '@ebbline/core/quantity';
import type { CompiledProtocol, ProtocolProof } from '@ebbline/protocol';
import { workerJobs } from '../../shared/worker-jobs.ts';
import type { FromProver, ToProver } from './prove-worker.ts';

const brokeOff = refuse('protocol/proof-broke-off', {
  asked: 'Proof',
  found: 'a proof that broke off',
  allowed: 'a proof to its end',
  todo: 'Change a cell, or open the draft again, to prove it anew.',
});

const jobs = workerJobs<ToProver, FromProver>(
  () => new Worker(new URL('./prove-worker.ts', import.meta.url), { type: 'module' }),
  brokeOff,
);

/** A pause this long ends a run of edits. */
const pauseMs = 250;

export type ProofState =
  | { readonly state: 'proving'; readonly last?: ProtocolProof | Refusal }
  | { readonly state: 'proved'; readonly proof: ProtocolProof | Refusal };

export function useProof(protocol: CompiledProtocol): ProofState {
  const [held, setHeld] = useState<{
    readonly of: CompiledProtocol['tables'];
    readonly proof: ProtocolProof | Refusal;
  }>();
  const { tables } = protocol;
  useEffect(() => {
    let stop: (() => void) | undefined;
    let over = false;
    jobs.getReady({ ready: true });
    const timer = setTimeout(() => {
      const job = jobs.run<ProtocolProof | Refusal>(
        { protocol },
        (message) => message.proof,
        () => {},
      );
      stop = job.stop;
      void job.done.then((proof) => {
        if (!over) setHeld({ of: tables, proof });
      });
    }, pauseMs);
    return () => {
      over = true;
      clearTimeout(timer);
      stop?.();
    };
    // A new title or version proves nothing anew: the proof is of the tables.
    // eslint-disable-next-line react-hooks/exhaustive-deps
  }, [tables]);
  if (held?.of === tables) return { state: 'proved', proof: held.proof };
  return held === undefined ? { state: 'proving' } : { state: 'proving', last: held.proof };
}
