export * from './indexeddb-store.ts';
