export * from './memory-store.ts';
