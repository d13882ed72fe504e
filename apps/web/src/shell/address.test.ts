// Proves     addresses read as they were written, whatever stands in them
// Published  none
// Tolerance  exact
import { describe, expect, it } from 'vitest';
import fc from 'fast-check';
import { addressOf, readAddress } from './address.ts';

describe('an address', () => {
  it('leads to the board when it is empty', () => {
    expect(readAddress('')).toEqual({ page: 'board', path: [] });
    expect(readAddress('#/')).toEqual({ page: 'board', path: [] });
  });

  it('is read as it was written', () => {
    fc.assert(
      fc.property(
        fc.array(fc.string({ minLength: 1 }), { minLength: 1, maxLength: 4 }),
        ([page = 'x', ...path]) => {
          expect(readAddress(addressOf(page, ...path))).toEqual({ page, path });
        },
      ),
      { seed: 7, numRuns: 300 },
    );
  });

  it('survives a broken escape', () => {
    expect(readAddress('#/patient/%E0%A4%A').page).toBe('patient');
  });
});
