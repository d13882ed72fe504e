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
export { schemaSteps as postgresSteps } from './schema.ts';
