/** What a ward's protocols want of one who owns them: a review that is due, a draft of somebody else that waits. */
import { reviewState, reviewWords } from '@ebbline/core/present';
import { protocolSigners, type Person, type Ward } from '@ebbline/core/record';
import type { ProtocolVersion } from '@ebbline/protocol';

export interface ProtocolWant {
  readonly id: string;
  readonly version: number;
  readonly name: string;
  readonly words: string;
}

/** Nothing for everybody else. */
export function protocolWants(
  versions: readonly ProtocolVersion[],
  me: Person,
  ward: Ward,
  nowMs: number,
): readonly ProtocolWant[] {
  if (!protocolSigners.includes(me.role) || !me.wards.includes(ward.id)) return [];
  return versions.flatMap(({ ward: of, state, protocol, published, sent }): readonly ProtocolWant[] => {
    if (of !== ward.id) return [];
    const name = `${protocol.title}, version ${protocol.version}`;
    const want = { id: protocol.id, version: protocol.version, name };
    if (state === 'published' && published) {
      const review = reviewState(published.reviewBy, ward.settings, nowMs, ward.zone);
      return review === 'current'
        ? []
        : [{ ...want, words: `${name}. ${reviewWords(published.reviewBy, nowMs, ward.zone)}` }];
    }
    return state === 'proved' && sent.person !== me.id
      ? [{ ...want, words: `${name}, waits for your signature. ${sent.name} sent it.` }]
      : [];
  });
}
