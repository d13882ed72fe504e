export { csvColumns, entriesCsv, readEntriesCsv, type ReadCsv } from './entries-csv.ts';
export { readRows, writeCell, writeRows, type CsvRow } from './cells.ts';
