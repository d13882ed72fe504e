// Proves     a form read from top to bottom has every field once: the number first, then what stands in front, then the rest; a field that
//            hangs on an answer names that answer as its key says it
// Published  none
// Tolerance  exact
import { describe, expect, it } from 'vitest';
import { askedAfter, fieldsInOrder, formOf, forms, keysOf, paperBlocks, paperForms } from './index.ts';

describe('a form from top to bottom', () => {
  it.each(forms.map((form) => [form.id, form] as const))('of %s has every field once', (_id, form) => {
    const names = fieldsInOrder(form).map(({ name }) => name);
    expect(names.toSorted()).toEqual(form.fields.map(({ name }) => name).toSorted());
    if (form.pad !== undefined && form.fields.some(({ name }) => name === form.pad))
      expect(names[0]).toBe(form.pad);
    const later = fieldsInOrder(form).map((field) => field.later === true && field.name !== form.pad);
    expect(later.lastIndexOf(false)).toBeLessThan(later.includes(true) ? later.indexOf(true) : later.length);
  });

  it('of a reading asks the number, the void, why there is none, the doubts, the position', () => {
    const reading = formOf('reading');
    if (!reading) throw new Error('no reading');
    expect(fieldsInOrder(reading).map(({ name }) => name)).toEqual([
      'volumeMl',
      'relation',
      'reasonNotObtained',
      'doubts',
      'position',
      'note',
    ]);
    const why = reading.fields.find(({ name }) => name === 'reasonNotObtained');
    expect(why && askedAfter(reading, why)).toBe('None seen');
    const relation = reading.fields.find(({ name }) => name === 'relation');
    expect(relation && keysOf(relation)).toEqual(['Before a void', 'After a void', 'No void']);
  });

  it('is printed for reading, void and drain among others, each of them a form of the bedside', () => {
    expect(paperForms.map(({ id }) => id)).toEqual(paperBlocks.map(([id]) => id));
    for (const id of ['reading', 'void', 'drained'])
      expect(paperForms.some((form) => form.id === id)).toBe(true);
    for (const form of paperForms)
      for (const field of form.fields)
        if (field.onlyIf !== undefined) expect(askedAfter(form, field), field.name).toBeDefined();
  });
});
