/**
 * Starting figures fitted to finished watches of one generator. The fit takes minutes, so that a folder may keep it: a kept
 * one is taken as it is, whatever has changed since in the model.
 */
import { existsSync, readFileSync, writeFileSync } from 'node:fs';
import path from 'node:path';
import { fitHistory } from '../../apps/cli/src/simulate/history.ts';
import type { UnitFactors } from '../../packages/core/src/filling/index.ts';
import { otherPatient, watchedPatient, type PatientGenerator } from '../../packages/simulate/src/index.ts';
import { wardBeginsMs } from '../../packages/simulate/src/ward/testing/questions.ts';

export const wardGenerators: Readonly<Record<string, PatientGenerator>> = {
  own: watchedPatient,
  other: otherPatient,
};

/** Finished watches come from this seed; nobody is scored from it. */
const historySeed = 900;

export function ownFigures(name: string, patients: number, folder?: string): UnitFactors | undefined {
  const generate = wardGenerators[name];
  if (patients === 0 || generate === undefined) return undefined;
  const file =
    folder === undefined ? undefined : path.join(folder, `${name}-${historySeed}-${patients}.json`);
  if (file !== undefined && existsSync(file)) return JSON.parse(readFileSync(file, 'utf8')) as UnitFactors;
  const { factors } = fitHistory(generate, { seed: historySeed, patients, beginsMs: wardBeginsMs });
  if (file !== undefined) writeFileSync(file, `${JSON.stringify(factors, undefined, 1)}\n`);
  return factors;
}
