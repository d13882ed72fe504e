// Test-only: a certificate for localhost, signed by its own key, made anew for each run, so that no key lies in the repository
// and none runs out. Just enough of X.509 (RFC 5280) for a client that is told to trust it.
import { generateKeyPairSync, sign } from 'node:crypto';

const der = (tag: number, ...parts: readonly Uint8Array[]): Buffer => {
  const body = Buffer.concat(parts);
  const length =
    body.length < 128
      ? Buffer.from([body.length])
      : body.length < 256
        ? Buffer.from([0x81, body.length])
        : Buffer.from([0x82, body.length >> 8, body.length & 255]);
  return Buffer.concat([Buffer.from([tag]), length, body]);
};
const sequence = (...parts: readonly Uint8Array[]): Buffer => der(0x30, ...parts);
const oid = (hex: string): Buffer => der(0x06, Buffer.from(hex, 'hex'));
const time = (ms: number): Buffer =>
  der(0x17, Buffer.from(`${new Date(ms).toISOString().slice(2, 19).replaceAll(/[-:T]/g, '')}Z`, 'latin1'));
const pem = (name: string, bytes: Uint8Array): string =>
  `-----BEGIN ${name}-----\n${Buffer.from(bytes)
    .toString('base64')
    .replaceAll(/(.{64})/g, '$1\n')}\n-----END ${name}-----\n`;

/** @returns certificate and key for `localhost`, good for a day around now */
export function selfSigned(nowMs: number): { readonly cert: string; readonly key: string } {
  const { privateKey, publicKey } = generateKeyPairSync('ec', { namedCurve: 'P-256' });
  const ecdsaWithSha256 = sequence(oid('2a8648ce3d040302'));
  const name = sequence(der(0x31, sequence(oid('550403'), der(0x0c, Buffer.from('localhost')))));
  const altName = sequence(oid('551d11'), der(0x04, sequence(der(0x82, Buffer.from('localhost')))));
  const toBeSigned = sequence(
    der(0xa0, der(0x02, Buffer.from([2]))),
    der(0x02, Buffer.from([1])),
    ecdsaWithSha256,
    name,
    sequence(time(nowMs - 43_200_000), time(nowMs + 43_200_000)),
    name,
    publicKey.export({ type: 'spki', format: 'der' }),
    der(0xa3, sequence(altName)),
  );
  const signature = der(0x03, Buffer.from([0]), sign('sha256', toBeSigned, privateKey));
  return {
    cert: pem('CERTIFICATE', sequence(toBeSigned, ecdsaWithSha256, signature)),
    key: privateKey.export({ type: 'pkcs8', format: 'pem' }) as string,
  };
}
