/** Identifier of an entry: a UUID, version 7 when made by a client, version 8 when derived from another system's id. */
export type EntryId = string;

const uuid = /^[0-9a-f]{8}-[0-9a-f]{4}-[78][0-9a-f]{3}-[89ab][0-9a-f]{3}-[0-9a-f]{12}$/;

export function isEntryId(value: unknown): value is EntryId {
  return typeof value === 'string' && uuid.test(value);
}

/**
 * UUID version 7 from a time and ten random bytes. RFC 9562 section 5.7: 48 bits of milliseconds, version,
 * 12 random bits, variant, 62 random bits.
 *
 * @param milliseconds since the epoch, 0 to 2^48 - 1
 * @param randomBytes ten bytes; the edge supplies them
 */
export function uuidV7(milliseconds: number, randomBytes: ArrayLike<number>): EntryId {
  if (randomBytes.length < 10) throw new Error('uuidV7 needs ten random bytes');
  const time = Math.floor(milliseconds).toString(16).padStart(12, '0').slice(-12);
  const bytes = Array.from({ length: 10 }, (_, index) => (randomBytes[index] ?? 0) & 0xff);
  bytes[0] = 0x70 | ((bytes[0] ?? 0) & 0x0f);
  bytes[2] = 0x80 | ((bytes[2] ?? 0) & 0x3f);
  const hex = bytes.map((byte) => byte.toString(16).padStart(2, '0')).join('');
  return `${time.slice(0, 8)}-${time.slice(8)}-${hex.slice(0, 4)}-${hex.slice(4, 8)}-${hex.slice(8)}`;
}

/**
 * UUID version 8 derived from text: same text, same id, so that reading a file twice adds nothing.
 * Four 32-bit FNV-1a runs with different starts. Not for secrets.
 *
 * Source    FNV-1a constants (S-from-memory); RFC 9562 section 5.8 for the layout
 */
export function uuidOfText(text: string): EntryId {
  const words = [0x811c9dc5, 0x01000193, 0xdeadbeef, 0x9e3779b9].map((start) => {
    let hash = start >>> 0;
    for (let index = 0; index < text.length; index += 1) {
      hash ^= text.charCodeAt(index);
      hash = Math.imul(hash, 0x01000193) >>> 0;
    }
    hash ^= hash >>> 16;
    hash = Math.imul(hash, 0x85ebca6b) >>> 0;
    hash ^= hash >>> 13;
    return hash >>> 0;
  });
  const hex = words.map((word) => word.toString(16).padStart(8, '0')).join('');
  const variant = ((Number.parseInt(hex[16] as string, 16) & 0x3) | 0x8).toString(16);
  return `${hex.slice(0, 8)}-${hex.slice(8, 12)}-8${hex.slice(13, 16)}-${variant}${hex.slice(17, 20)}-${hex.slice(20)}`;
}
