/**
 * What the ward's protocols want of those who own them: a review that is due, a draft that waits for a signature. For
 * everybody else it draws nothing.
 */
import type { ReactNode } from 'react';
import { reviewState, reviewWords } from '@ebbline/core/present';
import { protocolSigners } from '@ebbline/core/record';
import { addressOf } from '../../shell/address.ts';
import { useMe, useNow, useProtocols, useThisWard } from '../../shell/hooks.ts';
import { KeyLink } from '../key.tsx';
import { Notice } from '../plate.tsx';

export function ProtocolReminders(): ReactNode {
  const me = useMe();
  const ward = useThisWard();
  const nowMs = useNow();
  const versions = useProtocols();
  if (!protocolSigners.includes(me.role) || !me.wards.includes(ward.id)) return null;
  const wants = versions.flatMap(({ ward: of, state, protocol, published, sent }) => {
    if (of !== ward.id) return [];
    const name = `${protocol.title}, version ${protocol.version}`;
    const key = { id: protocol.id, version: protocol.version, name };
    if (state === 'published' && published) {
      const review = reviewState(published.reviewBy, ward.settings, nowMs, ward.zone);
      return review === 'current'
        ? []
        : [{ ...key, words: `${name}. ${reviewWords(published.reviewBy, nowMs, ward.zone)}` }];
    }
    return state === 'proved' && sent.person !== me.id
      ? [{ ...key, words: `${name}, waits for your signature. ${sent.name} sent it.` }]
      : [];
  });
  return wants.map((one) => (
    <Notice key={`${one.id} ${one.version}`} mark="due">
      <span data-reminder>{one.words}</span>{' '}
      <KeyLink href={addressOf('protocol', one.id, `v${one.version}`)}>Open {one.name}</KeyLink>
    </Notice>
  ));
}
