// Proves     the pad keeps what was typed as it was typed, and reads it as a number or refuses it in words.
// Tolerance  exact.
import { describe, expect, it } from 'vitest';
import fc from 'fast-check';
import { isRefusal } from '@ebbline/core/quantity';
import { numberTyped, padKeyOf, press, type PadKey } from './keypad.ts';

const type = (keys: string): string => [...keys].reduce((typed, key) => press(typed, key as PadKey), '');

describe('number pad', () => {
  it('keeps the digits in the order in which they were typed', () => {
    expect(type('430')).toBe('430');
    expect(numberTyped(type('430'), 'Volume', 'mL')).toBe(430);
  });

  it('shows a digit too many instead of swallowing it, so that 4500 is seen as 4500', () => {
    expect(numberTyped(type('4500'), 'Volume', 'mL')).toBe(4500);
  });

  it('reads a minus sign as what it is and leaves the refusal to the record', () => {
    expect(numberTyped(type('-5'), 'Volume', 'mL')).toBe(-5);
  });

  it('refuses a decimal point or comma in words that say what was found', () => {
    for (const typed of ['43.5', '43,5']) {
      const read = numberTyped(typed, 'Volume', 'mL');
      expect(isRefusal(read) && read.found).toBe(`"${typed}"`);
    }
  });

  it('says nothing, not nought, for an empty window', () => {
    expect(numberTyped('', 'Volume', 'mL')).toBeUndefined();
  });

  it('replaces a leading nought by the next digit', () => {
    expect(type('045')).toBe('45');
    expect(type('0')).toBe('0');
  });

  it('takes the last sign away with Backspace and everything with Delete', () => {
    expect(press('430', padKeyOf('Backspace') as PadKey)).toBe('43');
    expect(press('430', padKeyOf('Delete') as PadKey)).toBe('');
    expect(padKeyOf('x')).toBeUndefined();
  });

  it('gives back any number of up to four digits that is typed', () => {
    fc.assert(
      fc.property(
        fc.integer({ min: 0, max: 9999 }),
        (volumeMl) => numberTyped(type(String(volumeMl)), 'Volume', 'mL') === volumeMl,
      ),
      { seed: 41, numRuns: 200 },
    );
  });
});
