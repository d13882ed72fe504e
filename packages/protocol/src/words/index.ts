export { inputWords, plain, testWords } from './cell-words.ts';
export { changesBetween, type RowChange } from './changes.ts';
export { cellsOfFault, faultWords, type FaultWords } from './fault-words.ts';
export { columnTestWords, headWords, stateName, stateWords } from './state-words.ts';
export { patientSentence, patientWords } from './patient-words.ts';
export {
  columnTitle,
  outputTitle,
  outputTitles,
  tableTitle,
  tableTitles,
  valueWords,
} from './table-words.ts';
