export * from './refusal.ts';
export * from './control.ts';
export * from './instant.ts';
export * from './random.ts';
export * from './identifier.ts';
export * as shapes from './shape.ts';
export type { Shape, ValueOf, RecordOf } from './shape.ts';
