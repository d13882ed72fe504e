export { nodeDigest, openSqliteStore, type SqliteStoreOptions } from './sqlite-store.ts';
export { schemaVersion } from './schema.ts';
