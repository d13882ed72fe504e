export { conditionWords, rowWords } from './condition-words.ts';
export { dueWords, flowSheet, type FlowSheet, type SheetLine, type SheetMeaning } from './flow-sheet.ts';
export { sheetTables, type SheetTable } from './sheet-tables.ts';
