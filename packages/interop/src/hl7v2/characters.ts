/**
 * Bytes of a message to text. The site says which characters its feed is written in; what the header claims is compared
 * with that, and a difference is said.
 *
 * Errors    `hl7/characters`: bytes that are none of the set. They are never replaced by question marks
 * Source    HL7 table 0211: S-hl7-tables
 */
import { refuse, type Refusal } from '@ebbline/core/quantity';

/** Names of table 0211 → what the platform calls them. */
const sets: Readonly<Record<string, string>> = {
  ASCII: 'us-ascii',
  'UNICODE UTF-8': 'utf-8',
  '8859/1': 'iso-8859-1',
  '8859/2': 'iso-8859-2',
  '8859/5': 'iso-8859-5',
  '8859/7': 'iso-8859-7',
  '8859/9': 'iso-8859-9',
  '8859/15': 'iso-8859-15',
};
export const characterSets = Object.keys(sets);

export interface Decoded {
  readonly text: string;
  /** What MSH-18 says, when it is not what the site said. */
  readonly headerSays?: string;
}

/** MSH-18 without knowing the characters yet: delimiters and names of sets are plain in all of them. */
function claimed(bytes: Uint8Array): string {
  const header = new TextDecoder('iso-8859-1').decode(bytes.subarray(0, 2_000)).trimStart();
  const [line = ''] = header.split(/[\r\n]/, 1);
  const field = line.charAt(3);
  return field === '' ? '' : (line.split(field)[17] ?? '').split(/[~^]/, 1).join('').trim();
}

/** @param expected a name of `characterSets`; ASCII is read as UTF-8, of which it is a part */
export function decodeMessage(bytes: Uint8Array, expected = 'UNICODE UTF-8'): Decoded | Refusal {
  const says = claimed(bytes);
  const name =
    sets[expected] === undefined ? 'utf-8' : sets[expected] === 'us-ascii' ? 'utf-8' : sets[expected];
  try {
    const text = new TextDecoder(name, { fatal: true }).decode(bytes);
    const alike = says === '' || says === expected || says === 'ASCII';
    return alike ? { text } : { text, headerSays: says };
  } catch {
    return refuse('hl7/characters', {
      asked: 'HL7 message',
      found:
        says === ''
          ? `bytes that are not ${expected}`
          : `bytes that are not ${expected}; the header says ${says}`,
      allowed: `the characters set for this feed: ${expected}`,
      todo: 'Set the characters of this feed to those that the sender writes.',
    });
  }
}
