export * from './distributions.ts';
export { logGamma, incompleteBeta, incompleteGamma } from './special-functions.ts';
