export * from './line.ts';
export * from './read.ts';
export * from './observations.ts';
export * from './entries.ts';
export * from './question.ts';
export * from './lessons.ts';
