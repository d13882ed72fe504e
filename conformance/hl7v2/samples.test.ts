// Proves     messages that other programs wrote are read as another library reads them; whole ones give patients and
//            places, fragments a refusal with its place; that library reads our answers
// Published  the samples' own README: which are fragments, which have other ends of line
// Tolerance  exact
import { Hl7Message } from '@medplum/core';
import { readFileSync, readdirSync } from 'node:fs';
import { join } from 'node:path';
import { describe, expect, it } from 'vitest';
import { isRefusal, orThrow } from '@ebbline/core/quantity';
import {
  answerTo,
  decodeMessage,
  feedPatients,
  readMessage,
  readPatientEvents,
  writeMessage,
  type Message,
} from '@ebbline/interop/hl7v2';

const samples = process.env['EBBLINE_SAMPLES'];
const zone = 'UTC';
const textOf = (name: string): string =>
  orThrow(decodeMessage(new Uint8Array(readFileSync(join(samples as string, 'hl7', `${name}.hl7`))))).text;
const open = (name: string): Message => orThrow(readMessage(textOf(name)));

describe.skipIf(!samples)('messages of others (folder named by EBBLINE_SAMPLES)', () => {
  const names = samples
    ? readdirSync(join(samples, 'hl7'))
        .filter((name) => name.endsWith('.hl7'))
        .map((name) => name.slice(0, -4))
    : [];

  it.each(names)('%s has the fields that another library finds in it', (name) => {
    const ours = open(name);
    // Blank lines and odd ends of line are not what is compared here.
    const theirs = Hl7Message.parse(writeMessage(ours).trimEnd());
    expect(theirs.segments).toHaveLength(ours.segments.length);
    for (const [place, segment] of ours.segments.entries())
      for (const [at, field] of segment.fields.entries()) {
        const skip = segment.name === 'MSH' && at < 2;
        if (!skip) expect(theirs.segments[place]?.getField(at + 1)?.toString() ?? '').toBe(field);
      }
  });

  it.each([
    ['ADT_A01_1', 'HOSP|A|PID1234', 'yyy'],
    ['ADT_A01_2', 'HOSP|A|PID1234', 'yyy'],
    ['ADT_A01_lf', 'HOSP|A|PID1234', 'yyy'],
    ['ADT_A02_1', '||1234', 'none'],
    ['ADT_A03_1', '||1234', 'none'],
    ['ADT_A03_3', '||1234', 'none'],
  ])('%s is about %s on %s', (name, patient, ward) => {
    const [found, ...others] = feedPatients(orThrow(readPatientEvents(open(name), { zone })));
    expect(others).toEqual([]);
    const [, system, value] = patient.split('|');
    expect(found?.identifier).toEqual({ system, value });
    expect(found?.stays[0]?.places[0]?.ward ?? 'none').toBe(ward);
  });

  it.each([
    ['ADT_A34_1', '456', '123'],
    ['ADT_A40_1', 'MR2', 'MR1'],
    ['ADT_A40_3', 'MR2', 'MR1'],
  ])('%s retires %s for %s', (name, retired, survives) => {
    const [found, ...others] = feedPatients(orThrow(readPatientEvents(open(name), { zone })));
    expect(others).toEqual([]);
    expect(found?.identifier.value).toBe(survives);
    expect(found?.retired.map(({ value }) => value)).toEqual([retired]);
  });

  it.each(['ADT_A01_3', 'ADT_A04_1', 'ADT_A08_2'])(
    '%s, a fragment, is refused for what is missing',
    (name) => {
      const refused = readPatientEvents(open(name), { zone });
      expect(isRefusal(refused) && [refused.code, refused.where]).toEqual(['hl7/field-missing', 'PID']);
    },
  );

  it.each(['MDM_T02_1', 'ORU_R01_1'])('%s is no message about patients and beds', (name) => {
    const refused = readPatientEvents(open(name), { zone });
    expect(isRefusal(refused) && refused.code).toBe('hl7/not-about-patients');
  });

  it.each(names)('the answer to %s names its control id, as another library reads it', (name) => {
    const message = open(name);
    const answer = Hl7Message.parse(
      writeMessage(
        answerTo(message, {
          code: 'AE',
          controlId: 'r1',
          atMs: Date.UTC(2026, 4, 12),
          zone,
          fault: { what: 'field-missing', words: 'Who | it is about ^ is missing.', at: 'PID-3' },
        }),
      ),
    );
    const sent = Hl7Message.parse(writeMessage(message)).getSegment('MSH')?.getComponent(10, 1) ?? '';
    expect(answer.getSegment('MSA')?.getComponent(1, 1)).toBe('AE');
    expect(answer.getSegment('MSA')?.getComponent(2, 1)).toBe(sent);
    expect(answer.getSegment('ERR')?.getComponent(3, 1)).toBe('101');
    expect(answer.getSegment('ERR')?.getComponent(8, 1)).toBe('Who \\F\\ it is about \\S\\ is missing.');
  });
});
