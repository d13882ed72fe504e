export { openPostgresStore, type PostgresStoreOptions } from './postgres-store.ts';
export {
  openPostgres,
  placeOf,
  type Ask,
  type Inside,
  type PostgresDatabase,
  type PostgresOptions,
  type Row,
} from './database.ts';
export { postgresBooks } from './postgres-books.ts';
export { schemaSteps as postgresSteps } from './schema.ts';
export {
  copyIn,
  copyOut,
  organisationOfFile,
  type CopiedIn,
  type CopiedOut,
  type OnRows,
} from './copy-record.ts';
