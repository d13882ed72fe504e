export * from './port.ts';
export * from './canonical.ts';
export * from './audit-chain.ts';
export { isInReach } from './following-plan.ts';
export { sha256Hex } from './sha256.ts';
