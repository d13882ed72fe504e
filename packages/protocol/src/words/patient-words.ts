/** A patient of a proof, or one who is tried, in words: what matters, one phrase each. */
import { labels } from '@ebbline/core/present';
import type { RedFlag, WatchSetting } from '@ebbline/core/record';
import type { InputName, ProtocolInput } from '../dictionary.ts';
import { inputWords, plain } from './cell-words.ts';

type Say = { readonly [Name in InputName]?: (value: NonNullable<ProtocolInput[Name]>) => string };

const triggerWords: Readonly<Record<ProtocolInput['trigger'], string>> = {
  'watch-opened': 'the watch has just begun',
  reading: 'just read',
  void: 'has just passed urine',
  drained: 'just drained',
  'catheter-removed': 'the catheter has just come out',
  time: 'a look is due',
  symptom: 'a sign was reported',
};

const overWords: Readonly<Record<ProtocolInput['overLimit'], string>> = {
  no: 'under the limit',
  possible: 'perhaps at the limit',
  yes: 'at or over the limit',
};

const say: Say = {
  trigger: (value) => triggerWords[value],
  setting: (value) => labels.settings[value as WatchSetting].toLowerCase(),
  discomfort: (value) => (value ? 'in discomfort' : 'comfortable'),
  redFlag: (value) =>
    value === 'none' ? 'no red flag' : `red flag: ${labels.redFlags[value as RedFlag].toLowerCase()}`,
  residualMl: (value) => `${value} mL left after a void`,
  voidedMl: (value) => `${value} mL voided`,
  limitMl: (value) => `limit ${value} mL`,
  overLimit: (value) => overWords[value],
  doNotDrain: (value) =>
    value === 'none' ? 'no reason against a catheter' : `reason against a catheter: ${plain(value)}`,
  catheterInPlace: (value) => (value ? 'a catheter is in' : 'no catheter in'),
  trust: (value) => `trust in the reading: ${plain(value)}`,
  drainsSoFar: (value) => `drained ${value} times so far`,
  looksSoFar: (value) => `${value} looks so far`,
  voidsSoFar: (value) => `${value} voids so far`,
  lowResidualsInARow: (value) => `${value} low residuals in a row`,
  instilledMl: (value) => `${value} mL put in for a void trial`,
  voidedOfInstilledPercent: (value) => `${value} % of what was put in passed`,
  ageBand: (value) => (value === 'over-75' ? 'over 75 years old' : value),
};

const rounded = (value: number): number => Math.round(value * 10) / 10;

const volume = (patient: Partial<ProtocolInput>): string | undefined => {
  if (patient.volumeMl === undefined)
    return patient.volumeKind === 'none-obtained' ? 'tried, but no number came of it' : undefined;
  const least = patient.volumeKind === 'at-least' ? 'at least ' : '';
  return `${least}${rounded(patient.volumeMl)} mL`;
};

/** One phrase for each thing that matters, the volume first. */
export function patientWords(patient: Partial<ProtocolInput>): readonly string[] {
  const first = volume(patient);
  const rest = Object.entries(patient).flatMap(([name, value]): readonly string[] => {
    if (name === 'volumeMl' || name === 'volumeKind' || value === undefined || value === null) return [];
    const known = typeof value === 'number' ? rounded(value) : value;
    const words = say[name as InputName] as ((given: unknown) => string) | undefined;
    return [words ? words(known) : `${inputWords(name)}: ${plain(known)}`];
  });
  return first === undefined ? rest : [first, ...rest];
}

export const patientSentence = (patient: Partial<ProtocolInput>): string => {
  const words = patientWords(patient);
  return words.length === 0 ? 'any patient' : words.join(', ');
};
