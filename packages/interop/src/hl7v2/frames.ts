/**
 * Frames of the minimal lower layer protocol: 0x0B, a message, 0x1C 0x0D. Bytes come as the network cuts them.
 *
 * Domain    junk between frames is counted and skipped; a frame longer than the cap is given up at once, so that a sender
 *           who never ends one does not fill the memory
 * Source    MLLP release 1, from memory (S-from-memory); checked against a second implementation in conformance/hl7v2
 */
const begins = 0x0b;
const ends = 0x1c;
const closes = 0x0d;

export type Framed =
  | { readonly kind: 'message'; readonly bytes: Uint8Array }
  | { readonly kind: 'junk'; readonly count: number }
  | { readonly kind: 'too-long'; readonly mostBytes: number };

export interface Frames {
  /** What is whole with these bytes, in order. Nothing is given after `too-long`: the line is no longer understood. */
  take(chunk: Uint8Array): readonly Framed[];
  /** True while a frame has begun and not ended. */
  inside(): boolean;
}

export function openFrames(mostBytes: number): Frames {
  let parts: Uint8Array[] = [];
  let held = 0;
  let inside = false;
  /** 0x1C was the last byte seen inside. */
  let ending = false;
  let lost = false;

  const keep = (bytes: Uint8Array): void => {
    if (bytes.length === 0) return;
    parts.push(bytes.slice());
    held += bytes.length;
  };
  const whole = (): Uint8Array => {
    const bytes = new Uint8Array(held);
    let at = 0;
    for (const part of parts) {
      bytes.set(part, at);
      at += part.length;
    }
    parts = [];
    held = 0;
    return bytes;
  };

  return {
    inside: () => inside && !lost,
    take: (chunk) => {
      const out: Framed[] = [];
      let at = 0;
      let junk = 0;
      while (at < chunk.length && !lost) {
        if (!inside) {
          const begin = chunk.indexOf(begins, at);
          const until = begin < 0 ? chunk.length : begin;
          // An end of line after a frame is a habit of some senders, not junk.
          for (let place = at; place < until; place += 1)
            if (chunk[place] !== closes && chunk[place] !== 0x0a) junk += 1;
          at = until + 1;
          inside = begin >= 0;
          if (inside && junk > 0) {
            out.push({ kind: 'junk', count: junk });
            junk = 0;
          }
          continue;
        }
        if (ending) {
          ending = false;
          if (chunk[at] === closes) {
            at += 1;
            inside = false;
            out.push({ kind: 'message', bytes: whole() });
            continue;
          }
          // 0x1C inside a message is none of ours to judge.
          keep(Uint8Array.of(ends));
        }
        const end = chunk.indexOf(ends, at);
        keep(chunk.subarray(at, end < 0 ? chunk.length : end));
        at = end < 0 ? chunk.length : end + 1;
        ending = end >= 0;
        if (held > mostBytes) {
          lost = true;
          parts = [];
          out.push({ kind: 'too-long', mostBytes });
        }
      }
      if (junk > 0) out.push({ kind: 'junk', count: junk });
      return out;
    },
  };
}

export function frameOf(message: Uint8Array): Uint8Array {
  const bytes = new Uint8Array(message.length + 3);
  bytes[0] = begins;
  bytes.set(message, 1);
  bytes[message.length + 1] = ends;
  bytes[message.length + 2] = closes;
  return bytes;
}
