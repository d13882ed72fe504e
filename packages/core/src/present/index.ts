export * as labels from './labels.ts';
export * from './words.ts';
export * from './evidence.ts';
export * from './sentences.ts';
export * from './cautions.ts';
export * from './timeline.ts';
export * from './board.ts';
export * from './sbar.ts';
