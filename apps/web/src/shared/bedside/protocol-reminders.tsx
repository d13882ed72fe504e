/** What the ward's protocols want of those who own them, in words; for everybody else it draws nothing. */
import type { ReactNode } from 'react';
import { addressOf } from '../../shell/address.ts';
import { useMe, useNow, useProtocols, useThisWard } from '../../shell/hooks.ts';
import { KeyLink } from '../key.tsx';
import { Notice } from '../plate.tsx';
import { protocolWants } from './protocol-wants.ts';

export function ProtocolReminders(): ReactNode {
  const wants = protocolWants(useProtocols(), useMe(), useThisWard(), useNow());
  return wants.map((one) => (
    <Notice key={`${one.id} ${one.version}`} mark="due">
      <span data-reminder>{one.words}</span>{' '}
      <KeyLink href={addressOf('protocol', one.id, `v${one.version}`)}>Open {one.name}</KeyLink>
    </Notice>
  ));
}
