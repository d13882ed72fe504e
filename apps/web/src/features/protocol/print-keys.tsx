/** The same protocol on paper, made by the server from the same tables: on one page to lie on a desk, or whole. */
import type { ReactNode } from 'react';
import type { CompiledProtocol } from '@ebbline/protocol';
import { KeyLink } from '../../shared/key.tsx';
import { useNetwork, useThisWard } from '../../shell/hooks.ts';

export function PrintKeys({ protocol }: { readonly protocol: CompiledProtocol }): ReactNode {
  const ward = useThisWard();
  const { online } = useNetwork();
  // Paper comes from the record; without the network there is none to ask.
  if (!online) return null;
  const at = `/api/protocols/${encodeURIComponent(protocol.id)}/${protocol.version}`;
  const clock = `?ward=${encodeURIComponent(ward.id)}`;
  return (
    <>
      <KeyLink href={`${at}/flow-sheet.pdf${clock}`} target="_blank">
        Print the flow sheet
      </KeyLink>
      <KeyLink href={`${at}/tables.pdf${clock}`} target="_blank">
        Print the tables
      </KeyLink>
    </>
  );
}
