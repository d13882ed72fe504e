/**
 * A message of HL7 version 2 as text: segments, fields, repetitions, components, subcomponents.
 *
 * Frame     numbers begin at 1 as in the standard's names: field 3 of PID is PID-3. In MSH the separator itself is MSH-1
 * Domain    CR, LF and CRLF end a segment; blank lines are dropped; the header declares the delimiters
 * Errors    `hl7/no-header`, `hl7/delimiters`, `hl7/segment`: nothing of such a message is used
 * Not for   batches (BHS, FHS): each message by itself
 * Source    HL7 v2.5.1 chapter 2, from memory (S-from-memory); public samples in conformance/hl7v2
 */
import { refuse, type Refusal } from '@ebbline/core/quantity';
import { escapeText, unescapeText } from './escape.ts';

export interface Delimiters {
  readonly field: string;
  readonly component: string;
  readonly repetition: string;
  readonly escape: string;
  readonly subcomponent: string;
}

/** Those that nearly everybody uses, and that we write. */
export const usualDelimiters: Delimiters = {
  field: '|',
  component: '^',
  repetition: '~',
  escape: '\\',
  subcomponent: '&',
};

export interface Segment {
  readonly name: string;
  /** As sent, escapes and all; `fields[0]` is field 1. */
  readonly fields: readonly string[];
}

export interface Message {
  readonly delimiters: Delimiters;
  /** The header first. */
  readonly segments: readonly Segment[];
}

const notAMessage = (found: string): Refusal =>
  refuse('hl7/no-header', {
    asked: 'HL7 message',
    found,
    allowed: 'a text whose first line begins with MSH',
    todo: 'Check that the sender sends HL7 version 2 in the pipe-and-hat form.',
  });

/** The four characters after MSH|, or five where the escape stands twice by mistake or a truncation character follows. */
function readDelimiters(header: string): Delimiters | Refusal {
  const field = header.charAt(3);
  const [component = '', repetition = '', escape = '', fourth = '', fifth = ''] = header
    .slice(4)
    .split(field, 1)
    .join('');
  const subcomponent = fourth === escape && fifth !== '' ? fifth : fourth;
  const all = [field, component, repetition, escape, subcomponent].filter((one) => one !== '');
  const wrong =
    component === '' || all.some((one) => /[\sA-Za-z0-9]/.test(one)) || new Set(all).size < all.length;
  if (wrong)
    return refuse('hl7/delimiters', {
      asked: 'HL7 message',
      found: 'a header whose delimiters are missing, letters, or alike',
      allowed: 'five different signs such as |^~\\&',
      todo: 'Correct MSH-1 and MSH-2 at the sender.',
    });
  return { field, component, repetition, escape, subcomponent };
}

export function readMessage(text: string): Message | Refusal {
  const lines = text.split(/[\r\n]+/).filter((line) => line.trim() !== '');
  const header = (lines[0] ?? '').trimStart();
  if (!header.startsWith('MSH'))
    return notAMessage(lines.length === 0 ? 'nothing' : 'a text without a header');
  const delimiters = readDelimiters(header);
  if ('refused' in delimiters) return delimiters;
  const segments: Segment[] = [];
  for (const [place, line] of [header, ...lines.slice(1)].entries()) {
    const [name = '', ...fields] = line.split(delimiters.field);
    if (!/^[A-Z][A-Z0-9]{2}$/.test(name))
      return refuse('hl7/segment', {
        asked: 'HL7 message',
        found: 'a line that does not begin with the name of a segment',
        allowed: 'three capitals or digits such as PID, and fields after them',
        todo: 'Correct the message at the sender.',
        where: `line ${place + 1}`,
      });
    segments.push({ name, fields: place === 0 ? [delimiters.field, ...fields] : fields });
  }
  return { delimiters, segments };
}

export const segmentOf = (message: Message, name: string): Segment | undefined =>
  message.segments.find((one) => one.name === name);
export const segmentsOf = (message: Message, name: string): readonly Segment[] =>
  message.segments.filter((one) => one.name === name);

/** A place in a segment; what is left out is the first. */
export interface Place {
  readonly field: number;
  readonly repetition?: number;
  readonly component?: number;
  readonly subcomponent?: number;
}

const nth = (text: string, delimiter: string, place: number): string =>
  delimiter === '' ? (place === 1 ? text : '') : (text.split(delimiter)[place - 1] ?? '');

/** The components of each repetition of a field, their escapes read; none when it is empty, and no more than `most`. */
export function repetitionsOf(
  message: Message,
  segment: Segment,
  field: number,
  most = 100,
): readonly (readonly string[])[] {
  const { delimiters } = message;
  const text = segment.fields[field - 1] ?? '';
  if (text === '') return [];
  const each = delimiters.repetition === '' ? [text] : text.split(delimiters.repetition, most);
  return each.map((one) =>
    one
      .split(delimiters.component, most)
      .map((part) => unescapeText(nth(part, delimiters.subcomponent, 1), delimiters).trim()),
  );
}

/** The text at a place with its escapes read; empty when nothing is there. `""` means "delete what you have". */
export function textAt(message: Message, segment: Segment | undefined, place: Place): string {
  const { delimiters } = message;
  const { field, repetition = 1, component = 1, subcomponent = 1 } = place;
  const given = segment?.fields[field - 1] ?? '';
  // The header's own two fields hold delimiters, not text.
  if (segment?.name === 'MSH' && field <= 2) return given;
  const one = nth(nth(given, delimiters.repetition, repetition), delimiters.component, component);
  return unescapeText(nth(one, delimiters.subcomponent, subcomponent), delimiters).trim();
}

/** A field to write: a text, its components, or repetitions of those. */
export type Written = string | number | undefined | readonly (string | number | undefined)[];

function writeField(value: Written, delimiters: Delimiters): string {
  const parts = Array.isArray(value)
    ? (value as readonly (string | number | undefined)[])
    : [value as string];
  return parts
    .map((part) => (part === undefined ? '' : escapeText(String(part), delimiters)))
    .join(delimiters.component)
    .replace(new RegExp(`\\${delimiters.component}+$`), '');
}

/** A segment from its fields by number; those not named are empty. */
export function segmentFrom(name: string, fields: Readonly<Record<number, Written>>): Segment {
  const last = Math.max(0, ...Object.keys(fields).map(Number));
  return {
    name,
    fields: Array.from({ length: last }, (_, place) => writeField(fields[place + 1], usualDelimiters)),
  };
}

/** The header, whose first two fields are the delimiters. */
export function headerFrom(fields: Readonly<Record<number, Written>>): Segment {
  const { fields: written } = segmentFrom('MSH', fields);
  const { field, component, repetition, escape, subcomponent } = usualDelimiters;
  return {
    name: 'MSH',
    fields: [field, `${component}${repetition}${escape}${subcomponent}`, ...written.slice(2)],
  };
}

/** The message as text, each segment ended by CR. */
export function writeMessage({ delimiters, segments }: Message): string {
  return segments
    .map(({ name, fields }) => {
      const rest = name === 'MSH' ? fields.slice(1) : fields;
      return `${[name, ...rest].join(delimiters.field)}\r`;
    })
    .join('');
}
