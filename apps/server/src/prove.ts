/**
 * Proofs one after the other in a thread of their own: a board is told of its patients meanwhile. The thread begins with
 * the first proof and holds up no stop of the server.
 */
import { Worker } from 'node:worker_threads';
import { refuse, type Refusal } from '@ebbline/core/quantity';
import type { CompiledProtocol, ProtocolProof } from '@ebbline/protocol';

/** The proof has a budget of its own; a thread that is silent for longer than this is given up. */
const longestMs = 60_000; // S-common-practice

const brokeOff = (): Refusal =>
  refuse('protocol/proof-broke-off', {
    asked: 'Proof',
    found: 'a proof that broke off',
    allowed: 'a proof to its end',
    todo: 'Send it again; if it stays, make the tables smaller.',
  });

let worker: Worker | undefined;

function proveOne(protocol: CompiledProtocol): Promise<ProtocolProof | Refusal> {
  const thread = (worker ??= new Worker(new URL('./prove-worker.ts', import.meta.url)));
  thread.ref();
  return new Promise((resolve) => {
    const done = (result: ProtocolProof | Refusal): void => {
      clearTimeout(late);
      thread.off('message', done).off('error', broke).off('exit', broke);
      thread.unref();
      resolve(result);
    };
    const broke = (): void => {
      worker = undefined;
      done(brokeOff());
      void thread.terminate();
    };
    const late = setTimeout(broke, longestMs);
    thread.on('message', done).on('error', broke).on('exit', broke);
    thread.postMessage(protocol);
  });
}

let turn: Promise<unknown> = Promise.resolve();

/** What `proveProtocol` says; a refusal when the proof did not come to its end. */
export function proveAside(protocol: CompiledProtocol): Promise<ProtocolProof | Refusal> {
  const mine = turn.then(() => proveOne(protocol));
  turn = mine.catch(brokeOff);
  return mine;
}
