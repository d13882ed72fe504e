// Proves     the patients of a feed follow from the set of its messages: any order of arrival and any repetition give the
//            same; cancels, merges, swaps and leave do what they say
// Published  none
// Tolerance  exact
import { describe, expect, it } from 'vitest';
import fc from 'fast-check';
import { isRefusal, orThrow } from '@ebbline/core/quantity';
import { answerTo, readAnswer } from './answer.ts';
import { feedPatients, type FeedPatient } from './feed-patients.ts';
import { readMessage, writeMessage } from './message.ts';
import { readPatientEvents, type PatientEvent } from './patient-event.ts';

const zone = 'Europe/Lisbon';
let count = 0;
interface Told {
  readonly at: string;
  readonly happened?: string;
  readonly number?: string;
  readonly visit?: string;
  readonly bed?: string;
  readonly name?: string;
  readonly retired?: string;
}
const clock = (time: string): string => `20260512${time.replace(':', '')}00`;
/** One message as a feed would send it. */
function told(
  event: string,
  { at, happened, number = 'a1', visit = 'v1', bed, name, retired }: Told,
): string {
  count += 1;
  return [
    `MSH|^~\\&|FEED|NORTH|EBBLINE|NORTH|${clock(at)}||ADT^${event}|m${count}|P|2.5.1`,
    `EVN||${clock(at)}||||${happened === undefined ? '' : clock(happened)}`,
    `PID|1||${number}^^^NORTH^MR||${name ?? ''}`,
    ...(retired === undefined ? [] : [`MRG|${retired}^^^NORTH^MR`]),
    `PV1|1|I|${bed === undefined ? '' : `tern^4^${bed}`}||||||||||||||||${visit}`,
  ].join('\r');
}
const eventsOf = (messages: readonly string[]): readonly PatientEvent[] =>
  messages.flatMap((text) => orThrow(readPatientEvents(orThrow(readMessage(text)), { zone })));
const patients = (messages: readonly string[]): readonly FeedPatient[] => feedPatients(eventsOf(messages));
const beds = (patient: FeedPatient | undefined): readonly string[] =>
  (patient?.stays ?? []).flatMap((stay) => stay.places.map(({ bed }) => bed));

const day = [
  told('A01', { at: '08:00', bed: '1', name: 'Quill^Ada' }),
  told('A02', { at: '10:05', happened: '10:00', bed: '2' }),
  told('A02', { at: '11:05', happened: '11:00', bed: '9' }),
  told('A12', { at: '11:20', happened: '11:00' }),
  told('A08', { at: '12:00', name: 'Quill^Adah' }),
  told('A01', { at: '08:30', number: 'b7', visit: 'v2', bed: '5', name: 'Sorrel^Bram' }),
  told('A03', { at: '15:00' }),
  told('A13', { at: '15:10' }),
  told('A40', { at: '16:00', number: 'a1', retired: 'a9' }),
  told('A01', { at: '07:00', number: 'a9', visit: 'v0', bed: '3' }),
  told('A21', { at: '17:00', number: 'b7', visit: 'v2' }),
];

describe('the patients of a feed', () => {
  it('are where the last standing message put them', () => {
    const [ada, bram] = patients(day);
    expect(ada?.identifier).toEqual({ system: 'NORTH', value: 'a1' });
    expect(ada?.retired).toEqual([{ system: 'NORTH', value: 'a9' }]);
    expect(ada?.person).toMatchObject({ familyName: 'Quill', givenName: 'Adah' });
    expect(beds(ada)).toEqual(['3', '1', '2']);
    expect(ada?.stays.map(({ visit }) => visit)).toEqual(['v0', 'v1']);
    expect(ada?.stays[1]?.dischargedAtMs).toBeUndefined();
    expect(bram?.stays[0]).toMatchObject({ visit: 'v2', onLeave: true });
  });

  it('are the same for each of 1,000 shuffled and repeated deliveries', () => {
    const whole = eventsOf(day);
    const expected = feedPatients(whole);
    fc.assert(
      fc.property(
        fc.shuffledSubarray([...whole], { minLength: whole.length }),
        fc.array(fc.nat(whole.length - 1), { maxLength: 8 }),
        (order, again) => {
          const delivered = [...order, ...again.map((place) => whole[place] as PatientEvent)];
          expect(feedPatients(delivered)).toEqual(expected);
        },
      ),
      { seed: 3, numRuns: 1_000 },
    );
  });

  it('change places by A17, both at once', () => {
    const swap = [
      `MSH|^~\\&|FEED|NORTH|||${clock('09:00')}||ADT^A17|swap|P|2.5.1`,
      `EVN||${clock('09:00')}`,
      'PID|1||a1^^^NORTH^MR',
      'PV1|1|I|tern^4^2||||||||||||||||v1',
      'PID|2||b7^^^NORTH^MR',
      'PV1|1|I|tern^4^1||||||||||||||||v2',
    ].join('\r');
    const both = patients([
      told('A01', { at: '08:00', bed: '1' }),
      told('A01', { at: '08:00', number: 'b7', visit: 'v2', bed: '2' }),
      swap,
    ]);
    expect(both.map(beds)).toEqual([
      ['1', '2'],
      ['2', '1'],
    ]);
  });

  it('take a merge that is merged again through the whole chain, and a circle only as far as it came first', () => {
    const chain = patients([
      told('A40', { at: '09:00', number: 'b', retired: 'a' }),
      told('A40', { at: '10:00', number: 'c', retired: 'b' }),
      told('A40', { at: '11:00', number: 'a', retired: 'c' }),
      told('A01', { at: '08:00', number: 'a', bed: '4' }),
    ]);
    expect(chain.map(({ identifier }) => identifier.value)).toEqual(['c']);
    expect(beds(chain[0])).toEqual(['4']);
  });

  it('begin a new stay when somebody is admitted after leaving, though the feed numbers no stays', () => {
    const [ada] = patients([
      told('A01', { at: '08:00', visit: '', bed: '1' }),
      told('A03', { at: '09:00', visit: '' }),
      told('A01', { at: '12:00', visit: '', bed: '6' }),
    ]);
    expect(ada?.stays).toHaveLength(2);
    expect(ada?.stays[1]?.dischargedAtMs).toBeUndefined();
  });

  it('take the oldest standing place when every move is cancelled', () => {
    const messages = [
      told('A01', { at: '08:00', bed: '1' }),
      told('A02', { at: '09:00', bed: '2' }),
      told('A02', { at: '10:00', bed: '3' }),
      told('A12', { at: '11:00' }),
      told('A12', { at: '11:05' }),
    ];
    expect(beds(patients(messages)[0])).toEqual(['1']);
  });
});

describe('a message that cannot be used', () => {
  const refusalOf = (text: string): string => {
    const read = readPatientEvents(orThrow(readMessage(text)), { zone });
    return isRefusal(read) ? `${read.code} ${read.where ?? ''}` : 'taken';
  };
  const begin = (type: string): string => `MSH|^~\\&|FEED|NORTH|||${clock('09:00')}||${type}|1|P|2.5.1`;

  it.each([
    [begin('ORU^R01'), 'hl7/not-about-patients MSH-9'],
    [begin('ADT^A99'), 'hl7/unknown-event MSH-9'],
    [begin('ADT^A01'), 'hl7/field-missing PID'],
    [`${begin('ADT^A01')}\rPID|1`, 'hl7/field-missing PID-3'],
    [`${begin('ADT^A01')}${'\rPID|1||a1'.repeat(21)}`, 'hl7/too-many PID'],
    [`${begin('ADT^A40')}\rPID|1||a1`, 'hl7/field-missing MRG-1'],
    [`${begin('ADT^A01')}\rEVN||at noon\rPID|1||a1`, 'hl7/time '],
  ])('%j is refused: %s', (text, refusal) => expect(refusalOf(text)).toBe(refusal));

  it('is answered with who asked, what is wrong and where, and without what it held', () => {
    const message = orThrow(readMessage(`${begin('ADT^A01')}\rPID|1||||Quill^Ada`));
    const text = writeMessage(
      answerTo(message, {
        code: 'AR',
        controlId: 'r1',
        atMs: Date.UTC(2026, 4, 12, 8),
        zone,
        fault: { what: 'field-missing', words: 'A patient without a number.', at: 'PID-3' },
      }),
    );
    expect(text.split('\r')).toEqual([
      'MSH|^~\\&|||FEED|NORTH|20260512090000+0100||ACK^A01^ACK|r1|P|2.5.1||||||UNICODE UTF-8',
      'MSA|AR|1',
      'ERR||PID^1^3|101^Required field missing^HL70357|E||||A patient without a number.',
      '',
    ]);
    expect(readAnswer(orThrow(readMessage(text)))).toEqual({
      code: 'AR',
      of: '1',
      words: 'A patient without a number.',
    });
  });
});
