// Proves     a message is read by the delimiters that it declares, any text survives being written and read, and what is
//            no message is refused with a code and without repeating what it held
// Published  none; messages of others are read in conformance/hl7v2
// Tolerance  exact
import { describe, expect, it } from 'vitest';
import fc from 'fast-check';
import { isRefusal, orThrow } from '@ebbline/core/quantity';
import { decodeMessage } from './characters.ts';
import { escapeText, unescapeText } from './escape.ts';
import {
  headerFrom,
  readMessage,
  repetitionsOf,
  segmentFrom,
  segmentOf,
  segmentsOf,
  textAt,
  usualDelimiters,
  writeMessage,
  type Message,
} from './message.ts';

const header = 'MSH|^~\\&|FEED|NORTH|EBBLINE|NORTH|20260512113700||ADT^A01|17|P|2.5.1';
const codeOf = (value: unknown): string => (isRefusal(value) ? value.code : 'taken');

describe('a message', () => {
  it('gives fields, repetitions, components and subcomponents by the numbers of the standard', () => {
    const message = orThrow(
      readMessage(`${header}\rPID|1||a1^^^NORTH&1.2.3&ISO^MR~b2^^^EAST^PI||Quill^Ada\rNTE|1||x`),
    );
    const pid = segmentOf(message, 'PID');
    expect(textAt(message, segmentOf(message, 'MSH'), { field: 1 })).toBe('|');
    expect(textAt(message, segmentOf(message, 'MSH'), { field: 2 })).toBe('^~\\&');
    expect(textAt(message, segmentOf(message, 'MSH'), { field: 9, component: 2 })).toBe('A01');
    expect(textAt(message, pid, { field: 3, component: 4, subcomponent: 2 })).toBe('1.2.3');
    expect(textAt(message, pid, { field: 3, repetition: 2 })).toBe('b2');
    expect(textAt(message, pid, { field: 5, component: 2 })).toBe('Ada');
    expect(textAt(message, pid, { field: 40 })).toBe('');
    expect(textAt(message, undefined, { field: 1 })).toBe('');
    expect(repetitionsOf(message, pid!, 3).map(([value, , , system]) => [value, system])).toEqual([
      ['a1', 'NORTH'],
      ['b2', 'EAST'],
    ]);
    expect(repetitionsOf(message, pid!, 2)).toEqual([]);
    expect(segmentsOf(message, 'NTE')).toHaveLength(1);
  });

  it.each(['\r', '\n', '\r\n', '\r\r\n', '\n\n'])('is read with %j between segments', (end) => {
    const message = orThrow(readMessage([header, 'EVN||20260512113700', 'PID|1||a1', ''].join(end)));
    expect(message.segments.map(({ name }) => name)).toEqual(['MSH', 'EVN', 'PID']);
  });

  it('goes by its own delimiters', () => {
    const message = orThrow(readMessage('MSH$%*!+$FEED\rPID$$$a%b+c*d'));
    const pid = segmentOf(message, 'PID');
    expect(textAt(message, pid, { field: 3, component: 2, subcomponent: 2 })).toBe('c');
    expect(textAt(message, pid, { field: 3, repetition: 2 })).toBe('d');
  });

  it('is read though its header doubles the escape, as some senders do', () => {
    const message = orThrow(readMessage('MSH|^~\\\\&|FEED\rPID|||a&b'));
    expect(message.delimiters).toEqual(usualDelimiters);
    expect(textAt(message, segmentOf(message, 'PID'), { field: 3, subcomponent: 2 })).toBe('b');
  });

  it.each([
    ['', 'hl7/no-header'],
    ['PID|1', 'hl7/no-header'],
    ['MSH', 'hl7/delimiters'],
    ['MSH|^^\\&|', 'hl7/delimiters'],
    ['MSHAABCD|', 'hl7/delimiters'],
    [`${header}\rtoo short`, 'hl7/segment'],
    [`${header}\rpid|1`, 'hl7/segment'],
  ])('that reads %j is refused with %s', (text, code) => {
    const read = readMessage(text);
    expect(codeOf(read)).toBe(code);
    expect(JSON.stringify(read)).not.toContain('too short');
  });

  it('gives any text back that was written into it', () => {
    fc.assert(
      fc.property(
        fc.array(fc.string({ unit: 'binary', maxLength: 30 }), { minLength: 1, maxLength: 6 }),
        (texts) => {
          const plain = texts.map((text) => text.replace(/\r\n?/g, '\n').trim());
          const message: Message = {
            delimiters: usualDelimiters,
            segments: [headerFrom({ 3: 'EBBLINE' }), segmentFrom('OBX', { 3: plain, 5: plain[0] })],
          };
          const read = orThrow(readMessage(writeMessage(message)));
          const back = segmentOf(read, 'OBX');
          for (const [place, text] of plain.entries())
            expect(textAt(read, back, { field: 3, component: place + 1 })).toBe(text);
          expect(writeMessage(read)).toBe(writeMessage(message));
        },
      ),
      { seed: 7, numRuns: 500 },
    );
  });
});

describe('escapes', () => {
  it('are those of the standard', () => {
    const read = (text: string): string => unescapeText(text, usualDelimiters);
    expect(read('a\\F\\b\\S\\c\\T\\d\\R\\e\\E\\f')).toBe('a|b^c&d~e\\f');
    expect(read('one\\.br\\two')).toBe('one\ntwo');
    expect(read('\\H\\loud\\N\\')).toBe('loud');
    expect(read('\\XC3A9\\')).toBe('é');
    expect(escapeText('a|b\r\nc\u000b', usualDelimiters)).toBe('a\\F\\b\\.br\\c\\X0B\\');
  });

  it('that are unknown or not closed stay as they were sent', () => {
    for (const text of ['C:\\scans\\new', 'end\\', '\\Q1\\', '\\X1\\'])
      expect(unescapeText(text, usualDelimiters)).toBe(text);
    expect(unescapeText('C:\\a\\S\\b', usualDelimiters)).toBe('C:\\a^b');
  });
});

describe('bytes', () => {
  const latin = (text: string): Uint8Array => Uint8Array.from(text, (one) => one.charCodeAt(0));

  it('are read as the site says, and a header that says something else is told of', () => {
    const says = (set: string): string => `${header}||||||${set}\rPID|||a1||Mår`;
    expect(decodeMessage(latin(says('8859/1')), '8859/1')).toEqual({ text: says('8859/1') });
    expect(decodeMessage(latin(says('UNICODE UTF-8')), '8859/1')).toEqual({
      text: says('UNICODE UTF-8'),
      headerSays: 'UNICODE UTF-8',
    });
    expect(decodeMessage(new TextEncoder().encode(says('ASCII')))).toEqual({ text: says('ASCII') });
  });

  it('that are none of the set are refused, never replaced', () => {
    const read = decodeMessage(latin(`${header}\rPID|||a1||Mår`));
    expect(codeOf(read)).toBe('hl7/characters');
    expect(JSON.stringify(read)).not.toContain('PID');
  });
});
