export * from './bytes.ts';
export { makeKeyPair, publicKeyOf, type SealingKeyPair } from './hpke.ts';
export * from './sealed-entry.ts';
export * from './voucher.ts';
