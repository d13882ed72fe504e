/** Every form of the bedside. */
import type { FormSpec } from './form-spec.ts';
import { measuredForms } from './forms-measured.ts';
import { personForms } from './forms-person.ts';

export type { Field, FormSpec } from './form-spec.ts';

export const forms: readonly FormSpec[] = [...measuredForms, ...personForms];

export function formOf(id: string): FormSpec | undefined {
  return forms.find((form) => form.id === id);
}
