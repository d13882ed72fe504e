/** How a person is spoken of: as recorded, else "this person". */
import type { PatientFacts } from '@ebbline/core/facts';

export function possessive(facts: PatientFacts): string {
  const sex = facts.identity?.sex;
  return sex === 'female' ? 'her' : sex === 'male' ? 'his' : 'this person’s';
}

export function subject(facts: PatientFacts): string {
  const sex = facts.identity?.sex;
  return sex === 'female' ? 'she' : sex === 'male' ? 'he' : 'this person';
}

export const capital = (text: string): string => text.charAt(0).toUpperCase() + text.slice(1);

/** Rounded for reading: 5 mL under 100, 10 mL above. A volume by ultrasound is never known better (S-clinical-B1). */
export const roundMl = (volumeMl: number): number => (volumeMl < 100 ? Math.round(volumeMl / 5) * 5 : Math.round(volumeMl / 10) * 10);

export const figure = (volumeMl: number): string => Math.round(volumeMl).toLocaleString('en-GB');
