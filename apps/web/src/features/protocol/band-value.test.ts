// Proves     the value tried for a band of the map lies in the band, for every band of every starter's maps.
import { orThrow } from '@ebbline/core/quantity';
import { starterProtocols, stepMap, testHolds, wholePatient } from '@ebbline/protocol';
import { expect, it } from 'vitest';
import { valueIn } from './band-value.ts';

it('lies in its band, a whole number where the band has one', () => {
  let seen = 0;
  for (const protocol of starterProtocols)
    for (const [across, down] of [
      ['volumeMl', 'residualMl'],
      ['trigger', 'overLimit'],
      ['discomfort', 'lowResidualsInARow'],
    ] as const) {
      const map = orThrow(
        stepMap(protocol, across, down, wholePatient(protocol, { volumeMl: 300, limitMl: 500 })),
      );
      for (const [name, bands] of [
        [across, map.columns],
        [down, map.rows],
      ] as const)
        for (const { test } of bands) {
          const value = valueIn(name, test);
          expect(testHolds(test, value), `${name} ${JSON.stringify(test)}`).toBe(true);
          if (typeof value === 'number') expect(Number.isInteger(value)).toBe(true);
          seen += 1;
        }
    }
  expect(seen).toBeGreaterThan(50);
  expect(valueIn('volumeMl', { ranges: [{ from: 250, to: 251 }] })).toBe(250.5);
});
