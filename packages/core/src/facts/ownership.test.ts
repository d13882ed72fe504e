// Proves     the rules of handing over a watch, one by one.
import { describe, expect, it } from 'vitest';
import { ownershipOf } from './ownership.ts';
import { maker } from './testing/make.ts';

const six = 'six';
const person = (id: string) => ({ kind: 'person', person: id });

describe('the watch of one patient', () => {
  it('belongs to the nurse in charge of the ward when nobody by name has it', () => {
    expect(ownershipOf([], six, 0).owner).toEqual({ kind: 'role', role: 'charge-nurse', ward: six });
  });
  it('stays with the giver while an offer is open', () => {
    const m = maker();
    m.add('08:00', 'watch-opened', { setting: 'after-surgery', reason: 'x' });
    m.add('09:00', 'ownership-offered', { toPerson: 'nurse-mo', occasion: 'shift' });
    expect(ownershipOf(m.entries, six, m.at('10:00'))).toMatchObject({
      owner: person('nurse-kl'),
      offers: [{ to: person('nurse-mo') }],
    });
  });
  it('[H13-by-name] is not taken by somebody else than the person to whom it was offered', () => {
    const m = maker();
    m.add('08:00', 'watch-opened', { setting: 'after-surgery', reason: 'x' });
    const offer = m.add('09:00', 'ownership-offered', { toPerson: 'nurse-mo', occasion: 'shift' });
    m.add('09:05', 'ownership-accepted', { offer: offer.id, readBack: 'mine' }, { author: 'nurse-zz' });
    expect(ownershipOf(m.entries, six, m.at('10:00')).owner).toEqual(person('nurse-kl'));
  });
  it('is taken once when two people accept two offers of one giver', () => {
    const m = maker();
    m.add('08:00', 'watch-opened', { setting: 'after-surgery', reason: 'x' });
    const one = m.add('09:00', 'ownership-offered', { toPerson: 'nurse-a', occasion: 'shift' });
    const two = m.add('09:01', 'ownership-offered', { toPerson: 'nurse-b', occasion: 'shift' });
    m.add('09:05', 'ownership-accepted', { offer: two.id, readBack: 'r' }, { author: 'nurse-b' });
    m.add('09:06', 'ownership-accepted', { offer: one.id, readBack: 'r' }, { author: 'nurse-a' });
    expect(ownershipOf(m.entries, six, m.at('10:00'))).toMatchObject({
      owner: person('nurse-b'),
      offers: [],
    });
  });
  it('comes back after a break when it is offered and accepted again', () => {
    const m = maker();
    m.add('08:00', 'watch-opened', { setting: 'after-surgery', reason: 'x' });
    const out = m.add('12:00', 'ownership-offered', { toRole: 'nurse', toWard: six, occasion: 'break' });
    m.add('12:01', 'ownership-accepted', { offer: out.id, readBack: 'r' }, { author: 'nurse-b' });
    const back = m.add(
      '12:30',
      'ownership-offered',
      { toPerson: 'nurse-kl', occasion: 'return' },
      { author: 'nurse-b' },
    );
    expect(ownershipOf(m.entries, six, m.at('12:30')).owner).toEqual(person('nurse-b'));
    m.add('12:31', 'ownership-accepted', { offer: back.id, readBack: 'r' });
    expect(ownershipOf(m.entries, six, m.at('12:31')).owner).toEqual(person('nurse-kl'));
  });
});
