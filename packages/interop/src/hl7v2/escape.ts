/**
 * Text inside a field: characters that would be taken for delimiters are written as escapes, and read back.
 *
 *     \F\ |   \S\ ^   \T\ &   \R\ ~   \E\ \        as the header declares them
 *     \Xhh…\ bytes of the message's character set   \.br\ line   \H\ \N\ highlighting, dropped
 *
 * Errors    an escape that is unknown or not closed stays as it was sent: nothing that somebody wrote is lost
 * Source    HL7 v2.5.1 chapter 2.7, from memory (S-from-memory); public samples in conformance/hl7v2
 */
import type { Delimiters } from './message.ts';

const bytesOf = (hex: string): Uint8Array =>
  Uint8Array.from(hex.match(/../g) ?? [], (pair) => Number.parseInt(pair, 16));

/** @param decode bytes of a \X…\ escape to text; the message's own characters */
export function unescapeText(
  text: string,
  delimiters: Delimiters,
  decode: (bytes: Uint8Array) => string = (bytes) => new TextDecoder('utf-8').decode(bytes),
): string {
  const { escape } = delimiters;
  if (escape === '' || !text.includes(escape)) return text;
  const meant: Readonly<Record<string, string>> = {
    F: delimiters.field,
    S: delimiters.component,
    T: delimiters.subcomponent,
    R: delimiters.repetition,
    E: escape,
    H: '',
    N: '',
    '.br': '\n',
    '.sp': '\n',
  };
  let read = '';
  for (let at = 0; at < text.length;) {
    const begin = text.indexOf(escape, at);
    if (begin < 0) return read + text.slice(at);
    read += text.slice(at, begin);
    const end = text.indexOf(escape, begin + 1);
    if (end < 0) return read + text.slice(begin);
    const code = text.slice(begin + 1, end);
    const plain = Object.hasOwn(meant, code) ? meant[code] : undefined;
    if (plain !== undefined) read += plain;
    else if (/^X(?:[0-9A-Fa-f]{2})+$/.test(code)) read += decode(bytesOf(code.slice(1)));
    else {
      // Not an escape: a lone one, as in a path of folders. The next may still begin one.
      read += text.slice(begin, end);
      at = end;
      continue;
    }
    at = end + 1;
  }
  return read;
}

/** Ends of line become `\.br\`; other control characters would break the message and become `\Xhh\`. */
export function escapeText(text: string, delimiters: Delimiters): string {
  const { escape } = delimiters;
  const written = new Map([
    [escape, `${escape}E${escape}`],
    [delimiters.field, `${escape}F${escape}`],
    [delimiters.component, `${escape}S${escape}`],
    [delimiters.subcomponent, `${escape}T${escape}`],
    [delimiters.repetition, `${escape}R${escape}`],
    ['\n', `${escape}.br${escape}`],
  ]);
  let out = '';
  for (const character of text.replace(/\r\n?/g, '\n')) {
    const code = character.codePointAt(0) as number;
    out +=
      written.get(character) ??
      (code < 0x20 ? `${escape}X${code.toString(16).padStart(2, '0').toUpperCase()}${escape}` : character);
  }
  return out;
}
