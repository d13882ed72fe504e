/**
 * Which forms of the bedside are printed for the hours without the tool, and how a form reads from top to bottom. Screen
 * and paper both go by this, so that what was ticked on paper is found at the same place on the screen.
 */
import type { Field, FormSpec } from './form-spec.ts';
import { readingKeyWords } from './form-words.ts';
import { forms } from './forms.ts';

/** With how many empty blocks of each a sheet for one patient has; what a shift of work without the tool needs (S-common-practice). */
export const paperBlocks: readonly (readonly [form: string, blocks: number])[] = [
  ['reading', 2],
  ['void', 2],
  ['drained', 1],
  ['intake', 1],
  ['symptom', 1],
  ['red-flag', 1],
  ['catheter-placed', 1],
  ['catheter-removed', 1],
  ['call-made', 1],
];

export const paperForms: readonly FormSpec[] = paperBlocks.flatMap(([id]) =>
  forms.filter((form) => form.id === id),
);

/** The number first, then what stands in front, then what stands behind "More to say". */
export function fieldsInOrder(spec: FormSpec): readonly Field[] {
  const rest = spec.fields.filter((field) => field.name !== spec.pad);
  return [
    ...spec.fields.filter((field) => field.name === spec.pad),
    ...rest.filter((field) => !field.later),
    ...rest.filter((field) => field.later),
  ];
}

/** What stands on the keys of a field; empty for what is only written in. */
export function keysOf(field: Field): readonly string[] {
  switch (field.type) {
    case 'choice':
    case 'many':
      return field.options.map(([, label]) => label);
    case 'yes-no':
      return [field.yes, field.no];
    case 'text':
      return field.offers ?? [];
    default:
      return [];
  }
}

/** The answer on which a field hangs, as its key says it; undefined when it is always asked. */
export function askedAfter(spec: FormSpec, field: Field): string | undefined {
  if (field.onlyIf === undefined) return undefined;
  const [name, value] = field.onlyIf;
  if (name === 'notObtained') return readingKeyWords.noneSeen;
  const on = spec.fields.find((one) => one.name === name);
  if (on?.type === 'choice') return on.options.find(([word]) => word === value)?.[1];
  return on?.type === 'yes-no' ? (value === 'yes' ? on.yes : on.no) : undefined;
}
