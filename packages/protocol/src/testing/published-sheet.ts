/**
 * For tests and the manual: a table after a ward's published one-page sheet. Its bands are quoted as they stand
 * there, both ends included; which action belongs to which band is partly inferred, so that the steps here are an
 * example and never a starter.
 *
 * Source    bands, rescan time, age and count of drains: S-clinical-E14; exactly 400 and 600 mL are undefined there
 */
import type { CompiledTable } from '../compile-table.ts';
import { cell } from './made-up-tables.ts';

const row = (id: string, volume: string, step: string, dueInMin: number, why: string) => ({
  id,
  tests: [cell('"adult", "over-75"'), cell(volume)],
  values: [step, dueInMin, 'nurse', null, why, null, 'S-clinical-E14'],
});

export const publishedSheet: CompiledTable = {
  decision: 'Advice',
  hitPolicy: 'UNIQUE',
  inputs: ['ageBand', 'volumeMl'],
  outputs: ['step', 'dueInMin', 'ownerRole', 'tell', 'why', 'record', 'sourceId'],
  rows: [
    row('PS-1', '< 100', 'call-clinician', 60, 'Under 100 mL: contact the prescriber.'),
    row('PS-2', '[100..400]', 'promote-voiding', 120, '100 to 400 mL: prompt, and read again in 2 hours.'),
    row('PS-3', '[400..600]', 'drain-in-out', 15, '400 to 600 mL: straight catheter (inferred).'),
    row('PS-4', '> 600', 'leave-catheter-and-plan', 15, 'Above 600 mL: catheter for 24 hours (inferred).'),
  ],
};
