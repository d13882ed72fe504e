import type { Refusal } from '@ebbline/core/quantity';
import type { CompiledProtocol } from './compile-protocol.ts';
import { proveProtocol, type ProtocolProof } from './prove-protocol.ts';

/** What a proof depends on, as text: the tables, whom they are for, nothing of title, version or approval. */
export function proofContent(protocol: CompiledProtocol): string {
  return JSON.stringify([protocol.settings, protocol.ageBands, protocol.tables]);
}

/**
 * Proofs already made, by content: the same tables are proved once, under whatever name or version they come. The
 * whole content is the key, so that two protocols can never be taken for each other. The oldest leave first.
 */
export function proofCache(most = 32): (protocol: CompiledProtocol) => ProtocolProof | Refusal {
  const kept = new Map<string, ProtocolProof | Refusal>();
  return (protocol) => {
    const content = proofContent(protocol);
    const before = kept.get(content);
    if (before) return before;
    const proof = proveProtocol(protocol);
    if (kept.size >= most) kept.delete(kept.keys().next().value ?? '');
    kept.set(content, proof);
    return proof;
  };
}
