/**
 * The answer to a message: taken (AA), not now (AE: sending again may help), or never (AR). It is written after the message
 * is safely kept, never before.
 *
 * Source    HL7 tables 0008 and 0357: S-hl7-tables; ERR of v2.5, from memory (S-from-memory)
 */
import { headerFrom, segmentFrom, segmentOf, textAt, usualDelimiters, type Message } from './message.ts';
import { writeTime } from './time.ts';

export type AnswerCode = 'AA' | 'AE' | 'AR';

/** Table 0357. */
export const faults = {
  'segment-order': [100, 'Segment sequence error'],
  'field-missing': [101, 'Required field missing'],
  'wrong-type': [102, 'Data type error'],
  'not-in-table': [103, 'Table value not found'],
  'unknown-type': [200, 'Unsupported message type'],
  'unknown-event': [201, 'Unsupported event code'],
  'wrong-processing': [202, 'Unsupported processing id'],
  'wrong-version': [203, 'Unsupported version id'],
  'unknown-key': [204, 'Unknown key identifier'],
  'duplicate-key': [205, 'Duplicate key identifier'],
  locked: [206, 'Application record locked'],
  inside: [207, 'Application internal error'],
} as const satisfies Record<string, readonly [number, string]>;
export type Fault = keyof typeof faults;

export interface Answer {
  readonly code: AnswerCode;
  /** The answer's own control id. */
  readonly controlId: string;
  readonly atMs: number;
  readonly zone: string;
  readonly fault?: {
    readonly what: Fault;
    /** In plain words; never a name, an identifier or a value of the message. */
    readonly words: string;
    /** Where, such as `PID-3`. */
    readonly at?: string;
  };
}

/** @param to the message that is answered; absent when it could not be read at all */
export function answerTo(to: Message | undefined, { code, controlId, atMs, zone, fault }: Answer): Message {
  const header = to === undefined ? undefined : segmentOf(to, 'MSH');
  const of = (field: number, component = 1): string =>
    to === undefined ? '' : textAt(to, header, { field, component });
  const segments = [
    headerFrom({
      3: of(5),
      4: of(6),
      5: of(3),
      6: of(4),
      7: writeTime(atMs, zone),
      9: of(9, 2) === '' ? 'ACK' : ['ACK', of(9, 2), 'ACK'],
      10: controlId,
      11: of(11) === '' ? 'P' : of(11),
      12: of(12) === '' ? '2.5.1' : of(12),
      18: 'UNICODE UTF-8',
    }),
    segmentFrom('MSA', { 1: code, 2: of(10) }),
  ];
  if (fault !== undefined) {
    const [number, text] = faults[fault.what];
    const [segment, field] = (fault.at ?? '').split('-');
    segments.push(
      segmentFrom('ERR', {
        ...(fault.at === undefined ? {} : { 2: [segment, 1, field] }),
        3: [number, text, 'HL70357'],
        4: 'E',
        8: fault.words,
      }),
    );
  }
  return { delimiters: usualDelimiters, segments };
}

/** What a receiver said of a message of ours. */
export interface Said {
  readonly code: AnswerCode;
  /** The control id of the message that it answers. */
  readonly of: string;
  readonly words: string;
}

/** Reads an answer, enhanced mode included (CA, CE, CR); nothing when the message is none. */
export function readAnswer(message: Message): Said | undefined {
  const msa = segmentOf(message, 'MSA');
  if (msa === undefined) return undefined;
  const given = textAt(message, msa, { field: 1 });
  const code = { AA: 'AA', CA: 'AA', AE: 'AE', CE: 'AE', AR: 'AR', CR: 'AR' }[given] as
    | AnswerCode
    | undefined;
  if (code === undefined) return undefined;
  const err = segmentOf(message, 'ERR');
  const words =
    textAt(message, err, { field: 8 }) ||
    textAt(message, err, { field: 3, component: 2 }) ||
    textAt(message, msa, { field: 3 });
  return { code, of: textAt(message, msa, { field: 2 }), words };
}
