export * from './words.ts';
export * from './kinds.ts';
export * from './image-evidence.ts';
export * from './entry.ts';
export * from './advice.ts';
export * from './unit-settings.ts';
export * from './directory.ts';
export * from './permissions.ts';
