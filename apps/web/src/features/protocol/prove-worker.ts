// Proves a draft off the main thread, so that the page stays awake.
import type { Refusal } from '@ebbline/core/quantity';
import { proofCache, type CompiledProtocol, type ProtocolProof } from '@ebbline/protocol';

export type ToProver = { readonly protocol: CompiledProtocol } | { readonly ready: true };
export interface FromProver {
  readonly proof: ProtocolProof | Refusal;
}

/** Undo and redo come back to tables that were proved before. */
const prove = proofCache();

addEventListener('message', ({ data }: MessageEvent<ToProver>) => {
  if ('protocol' in data) postMessage({ proof: prove(data.protocol) } satisfies FromProver);
});
