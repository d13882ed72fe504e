/** What the proof found, in words: the fault, and a patient who shows it. */
import { isRefusal } from '@ebbline/core/quantity';
import { compileTest, type CompiledTest } from '../compile-table.ts';
import type { CompiledProtocol } from '../compile-protocol.ts';
import type { Fault } from '../prove-protocol.ts';
import { columnTestWords, headWords } from './state-words.ts';
import { patientSentence } from './patient-words.ts';

/** The cells of all who share a fault, ready to put into a row; left out where a cell is of no form that a row takes. */
export function cellsOfFault(fault: Fault): Readonly<Record<string, CompiledTest>> {
  return Object.fromEntries(
    Object.entries(fault.cells ?? {}).flatMap(([name, cell]) => {
      const test = compileTest(cell);
      return isRefusal(test) || test === 0 ? [] : [[name, test] as const];
    }),
  );
}

const withoutControl = (law: string): string => law.replace(/ \[[a-z-]+\]$/, '');

/** `volume from 250 to 400 mL`: one column of a fault. */
function cellInWords(name: string, test: CompiledTest): string {
  const [words = '', unit] = headWords(name).split(', ');
  const numbers = test !== 0 && !('not' in test) && (test.ranges?.length ?? 0) > 0;
  return `${words} ${columnTestWords(name, test)}${numbers && unit !== undefined ? ` ${unit}` : ''}`;
}

/** The volume first: it is what people look for. */
const cellsInWords = (fault: Fault): string =>
  Object.entries(cellsOfFault(fault))
    .sort(([a], [b]) => Number(b === 'volumeMl') - Number(a === 'volumeMl'))
    .map(([name, test]) => cellInWords(name, test))
    .join('; ');

export interface FaultWords {
  readonly title: string;
  readonly patient: string;
}

export function faultWords(fault: Fault, { tables }: Pick<CompiledProtocol, 'tables'>): FaultWords {
  const [first = '', second = ''] = fault.rows;
  const cells = cellsInWords(fault);
  if (fault.kind === 'gap')
    return {
      title: `No row for: ${cells === '' ? 'anybody' : cells}.`,
      patient: `For example: ${patientSentence(fault.patient)}.`,
    };
  if (fault.kind === 'overlap')
    return {
      title: `Two rows, ${first} and ${second}, both answer: ${cells === '' ? 'everybody' : cells}.`,
      patient: `For example: ${patientSentence(fault.patient)}.`,
    };
  const table = tables.find((one) => one.decision === fault.decision);
  const row = table?.rows.find((one) => one.id === first);
  const stepless = row !== undefined && row.values[table?.outputs.indexOf('step') ?? -1] === null;
  const law = withoutControl(fault.law ?? '');
  return {
    title: stepless
      ? `Row ${first} has no step yet.`
      : second === ''
        ? `Row ${first} is not safe. Allowed is: ${law}.`
        : `Rows ${first} and ${second} do not fit together: ${law}.`,
    patient:
      fault.before === undefined
        ? `For example: ${patientSentence(fault.patient)}.`
        : `Before: ${patientSentence(fault.before)}. Then worse: ${patientSentence(fault.patient)}.`,
  };
}
