/** Bytes as text and back. Shape: base64url without padding, the form that JSON Web Keys use too. */
export type Bytes = Uint8Array<ArrayBuffer>;

export const utf8 = (text: string): Bytes => new TextEncoder().encode(text);
export const textOf = (bytes: Bytes): string => new TextDecoder('utf-8', { fatal: true }).decode(bytes);

export function base64Of(bytes: Uint8Array): string {
  let binary = '';
  for (let at = 0; at < bytes.length; at += 0x8000)
    binary += String.fromCharCode(...bytes.subarray(at, at + 0x8000));
  return btoa(binary).replaceAll('+', '-').replaceAll('/', '_').replace(/=+$/, '');
}

/** Throws when the text is no base64url. */
export function bytesOf(text: string): Bytes {
  if (!/^[A-Za-z0-9_-]*$/.test(text)) throw new TypeError('no base64url');
  return Uint8Array.from(
    atob(text.replaceAll('-', '+').replaceAll('_', '/')),
    (letter) => letter.codePointAt(0) ?? 0,
  );
}

export function joined(...parts: readonly Uint8Array[]): Bytes {
  const whole = new Uint8Array(parts.reduce((sum, { length }) => sum + length, 0));
  let at = 0;
  for (const part of parts) {
    whole.set(part, at);
    at += part.length;
  }
  return whole;
}
