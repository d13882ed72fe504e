export * as labels from './labels.ts';
export * from './words.ts';
export * from './sentences.ts';
export * from './cautions.ts';
export { timelineRows, boardRowOf, ageWords, type TimelineRow, type BoardRow } from './rows.ts';
export * from './sbar.ts';
