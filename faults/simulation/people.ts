/** What people do at a tablet: everything that a bedside writes, now and then wrongly and twice. */
import { instantOfMs, minuteMs, type RandomSource } from '@ebbline/core/quantity';
import type { Entry } from '@ebbline/core/record';
import type { Draft } from '../../apps/web/src/shell/replica.ts';
import type { Counts } from './ledger.ts';
import type { TabletSide } from './tablet-side.ts';
import { people } from './unit.ts';

const measured = new Set(['reading', 'void', 'drained']);
const amending = new Set(['withdrawn', 'moved-to-patient']);

export const registration = (patient: string, ward = 'harbour', bed = '1'): Draft<'patient-registered'> => ({
  patient,
  kind: 'patient-registered',
  payload: {
    familyName: 'Ostrander',
    givenName: 'Wilma',
    sex: 'female',
    identifierSystem: 'urn:made-up',
    identifierValue: patient,
    ward,
    bed,
  },
});

/** Volumes differ from hand to hand, except now and then: two hands write the same look down. */
const volumeMl = (random: RandomSource): number => (random.below(5) === 0 ? 300 : 10 * random.below(60));

function measurement(patient: string, random: RandomSource): Draft {
  const pick = random.below(3);
  if (pick === 0)
    return {
      patient,
      kind: 'reading',
      payload: {
        result: 'exact',
        volumeMl: volumeMl(random),
        relation: 'no-void',
        doubts: [],
        scanner: 'scanner-a',
      },
    };
  return pick === 1
    ? { patient, kind: 'void', payload: { how: 'measured', volumeMl: volumeMl(random) } }
    : { patient, kind: 'drained', payload: { route: 'in-out', volumeMl: volumeMl(random) } };
}

/** A look with the protocol's answer to it, in one save; now and then the answer to an earlier one. */
function lookWithAdvice(tablet: TabletSide, patient: string, random: RandomSource): readonly Draft[] {
  const earlier = tablet.replica?.entriesOf(patient).filter(({ kind }) => kind === 'reading') ?? [];
  const again = earlier.length > 0 && random.below(3) === 0;
  const id = again ? random.pick(earlier).id : (tablet.replica?.newId() ?? '');
  const drafts = lookAndAdvice(tablet, patient, id, random);
  return again ? drafts.slice(1) : drafts;
}

function lookAndAdvice(
  tablet: TabletSide,
  patient: string,
  id: string,
  random: RandomSource,
): readonly Draft[] {
  return [
    {
      patient,
      id,
      kind: 'reading',
      payload: { result: 'exact', volumeMl: volumeMl(random), relation: 'no-void', doubts: [] },
    },
    {
      patient,
      kind: 'step-advised',
      payload: {
        step: 'look-again',
        dueAt: instantOfMs(tablet.nowMs + (5 + random.below(60)) * minuteMs),
        ownerRole: 'nurse',
        why: 'made up',
        rowId: 'r1',
        rowText: 'made up',
        rowSourceId: 'made-up',
        protocolId: 'made-up',
        protocolVersion: 1,
        protocolApproval: 'example-not-approved',
        becauseOf: id,
      },
    },
  ];
}

const corrected = (entry: Entry, random: RandomSource): Draft | undefined =>
  entry.kind === 'void'
    ? {
        patient: entry.patient,
        kind: 'void',
        effectiveAt: entry.effectiveAt,
        corrects: entry.id,
        payload: { how: 'measured', volumeMl: volumeMl(random) },
      }
    : entry.kind === 'reading'
      ? {
          patient: entry.patient,
          kind: 'reading',
          effectiveAt: entry.effectiveAt,
          corrects: entry.id,
          payload: { ...entry.payload, volumeMl: volumeMl(random) },
        }
      : entry.kind === 'drained'
        ? {
            patient: entry.patient,
            kind: 'drained',
            effectiveAt: entry.effectiveAt,
            corrects: entry.id,
            payload: { ...entry.payload, volumeMl: volumeMl(random) },
          }
        : undefined;

/** What somebody at this tablet writes next, from what they see there; a handover is written down late now and then. */
export function draftsOf(
  tablet: TabletSide,
  patients: readonly string[],
  random: RandomSource,
  counts: Counts,
): readonly Draft[] {
  return actOf(tablet, patients, random, counts).map((draft) =>
    draft.kind.startsWith('ownership-') && random.below(3) === 0
      ? { ...draft, effectiveAt: instantOfMs(tablet.nowMs - random.below(90_000)) }
      : draft,
  );
}

function actOf(
  tablet: TabletSide,
  patients: readonly string[],
  random: RandomSource,
  counts: Counts,
): readonly Draft[] {
  const { replica, person } = tablet;
  if (!replica) return [];
  const here = replica.patients();
  const unknown = patients.filter((one) => !here.includes(one));
  if (here.length === 0 || (unknown.length > 0 && random.below(6) === 0))
    return unknown.length === 0
      ? []
      : [registration(random.pick(unknown), random.pick(['harbour', 'dunes']))];
  const patient = random.pick(here);
  const own = replica.entriesOf(patient);
  const others = people.filter(({ id }) => id !== person.id);
  const dice = random.below(20);
  if (dice < 5) return [measurement(patient, random)];
  if (dice < 7) return lookWithAdvice(tablet, patient, random);
  if (dice === 7) return [measurement(patient, random), measurement(patient, random)];
  if (dice === 8) {
    const when = tablet.nowMs - random.below(90) * minuteMs;
    return [
      { ...measurement(patient, random), effectiveAt: instantOfMs(when), timeQuality: 'rounded' } as Draft,
    ];
  }
  if (dice < 11) {
    const entry = random.pick(own);
    const draft = corrected(entry, random);
    if (draft) counts.corrections += 1;
    return draft ? [draft] : [];
  }
  if (dice < 13) {
    const entry = random.pick(own);
    if (entry.kind === 'patient-registered') return [];
    counts.withdrawals += 1;
    return [{ patient: entry.patient, kind: 'withdrawn', payload: { of: entry.id, reason: 'typing' } }];
  }
  if (dice < 15) {
    const entry = random.pick(own);
    if (!measured.has(entry.kind) || amending.has(entry.kind)) return [];
    counts.moves += 1;
    return [
      {
        patient: entry.patient,
        kind: 'moved-to-patient',
        payload: { of: entry.id, toPatient: random.pick(here), reason: 'wrong-patient' },
      },
    ];
  }
  if (dice === 15)
    return [
      {
        patient,
        kind: 'watch-opened',
        payload: { setting: 'after-surgery', reason: 'made up', owner: random.pick(people).id },
      },
    ];
  if (dice === 16) {
    counts.transfers += 1;
    return [
      {
        patient,
        kind: 'transferred',
        payload: { ward: random.pick(['harbour', 'dunes']), bed: random.pick(['1', '2']) },
      },
    ];
  }
  if (dice === 17) {
    counts.handovers += 1;
    const to =
      random.below(3) === 0
        ? { toRole: 'nurse' as const, toWard: 'harbour' }
        : { toPerson: random.pick(others).id };
    return [{ patient, kind: 'ownership-offered', payload: { ...to, occasion: 'shift' } }];
  }
  const offers = own.filter((one) => one.kind === 'ownership-offered');
  if (offers.length === 0) return [measurement(patient, random)];
  counts.handovers += 1;
  const offer = random.pick(offers);
  return [{ patient, kind: 'ownership-accepted', payload: { offer: offer.id, readBack: 'mine now' } }];
}
