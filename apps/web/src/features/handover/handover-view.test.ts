// Proves     who has what at handover: mine, offered to me, accepted; the giver keeps it until it is accepted; nobody is
//            among those who can be offered a patient, and to nobody is refused
// Published  none
// Tolerance  exact
import { describe, expect, it } from 'vitest';
import { isRefusal, orThrow } from '@ebbline/core/quantity';
import {
  aide,
  directory,
  fakeRecord,
  nurse,
  openTablet,
  otherNurse,
  registered,
} from '../../shell/testing/fakes.ts';
import { handoverViewOf, readBackPieces, receiversOf } from './handover-view.ts';

const ward = directory.wards[0] as (typeof directory.wards)[number];

async function onWatch() {
  const tablet = await openTablet(fakeRecord());
  orThrow(
    await tablet.replica.record([
      registered('p-1'),
      {
        patient: 'p-1',
        kind: 'watch-opened',
        payload: { setting: 'after-surgery', reason: 'Knee replacement', owner: nurse.id },
      },
    ]),
  );
  const view = (me: typeof nurse) =>
    handoverViewOf(tablet.replica.ward(ward.id).patients, me, ward.zone, directory, tablet.clock.nowMs);
  const offer = (payload: object) =>
    tablet.replica.record([
      { patient: 'p-1', kind: 'ownership-offered', payload: { occasion: 'shift', ...payload } },
    ]);
  return { ...tablet, view, offer };
}

describe('handover', () => {
  it("shows an offered patient to both: still the giver's, and offered to the other", async () => {
    const { view, offer } = await onWatch();
    orThrow(await offer({ toPerson: otherNurse.id }));
    expect(view(nurse).mine.map((card) => [card.facts.patient, card.offer !== undefined])).toEqual([
      ['p-1', true],
    ]);
    expect(view(otherNurse).toMe.map((card) => card.facts.patient)).toEqual(['p-1']);
    expect(view(otherNurse).mine).toEqual([]);
    expect(view(aide).toMe).toEqual([]);
    expect(view(aide).othersOpen).toHaveLength(1);
  });

  it('shows an offer to a role to those of that role', async () => {
    const { view, offer } = await onWatch();
    orThrow(await offer({ toRole: 'nurse', toWard: ward.id }));
    expect(view(otherNurse).toMe).toHaveLength(1);
    expect(view(aide).toMe).toEqual([]);
  });

  it('passes the patient on when it is accepted, with what was read back', async () => {
    const { view, offer, store, replica } = await onWatch();
    const [made] = orThrow(await offer({ toPerson: otherNurse.id }));
    const other = await openTablet(fakeRecord(), { me: otherNurse, store, seed: 2 });
    const pieces = readBackPieces(view(otherNurse).toMe[0] as never, ward.zone);
    orThrow(
      await other.replica.record([
        {
          patient: 'p-1',
          kind: 'ownership-accepted',
          payload: { offer: made?.id ?? '', readBack: pieces.join('; ') },
        },
      ]),
    );
    const seen = handoverViewOf(
      other.replica.ward(ward.id).patients,
      nurse,
      ward.zone,
      directory,
      other.clock.nowMs,
    );
    expect(seen.mine).toEqual([]);
    expect(seen.accepted.map((one) => [one.by, one.readBack])).toEqual([[otherNurse.id, pieces.join('; ')]]);
    expect(replica.factsOf('p-1').owner).toEqual({ kind: 'person', person: nurse.id });
  });

  it('shows as many open items as the record holds', async () => {
    const { view } = await onWatch();
    expect(view(nurse).itemsShown).toBe(view(nurse).itemsInRecord);
  });

  it('offers nobody to hand over to, and is refused when it is tried', async () => {
    const { offer } = await onWatch();
    const receivers = receiversOf(nurse, ward, directory);
    expect(receivers.map((one) => one.value)).toEqual([`person:${otherNurse.id}`, 'role:nurse']);
    const answer = await offer({});
    expect(isRefusal(answer) && answer.code).toBe('record/nobody');
  });

  it('asks for the limit and each due item to be read back', async () => {
    const { view } = await onWatch();
    const pieces = readBackPieces(view(nurse).mine[0] as never, ward.zone);
    expect(pieces.at(-1)).toBe('Limit 500 mL');
    expect(pieces.length).toBeGreaterThan(1);
  });
});
