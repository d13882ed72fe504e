export { nodeDigest } from '../rows.ts';
export { openSqliteStore, type SqliteStoreOptions } from './sqlite-store.ts';
export { newerVersion, schemaVersion } from './schema.ts';
export { copyRecord, openRecordFile, type RecordFile } from './record-file.ts';
export { walkRecord, type OnLink, type RecordFault, type WalkedOrganisation } from './walk-record.ts';
