export * from './observation.ts';
export * from './prior.ts';
export * from './state.ts';
export * from './at-least.ts';
export * from './mixture.ts';
export * from './follow.ts';
export * from './crossing.ts';
export * from './estimate.ts';
