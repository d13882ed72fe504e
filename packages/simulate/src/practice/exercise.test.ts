// Proves     every level is what its name says, over several seeds, as measured from the truth of the phantom; the same
//            level and seed give the same exercise.
// Published  none: simulated
// Tolerance  exact
import { describe, expect, it } from 'vitest';
import { practiceLevels, type PracticeLevel } from '@ebbline/core/record';
import { practiceSet, practiceRecipe, type PracticeTruth } from './exercise.ts';

const seeds = [3, 27];

const expected: Readonly<Record<PracticeLevel, (truth: PracticeTruth) => boolean>> = {
  'plain-view': (truth) => truth.wholeInView && truth.hidden === 'nothing' && !truth.otherDark,
  'cut-by-edge': (truth) =>
    truth.bladderThere && !truth.wholeInView && truth.hidden === 'edge' && truth.cutOn.length > 0,
  shadowed: (truth) => !truth.wholeInView && truth.hidden === 'shadow' && truth.shadowOf !== undefined,
  'look-alikes': (truth) => truth.bladderThere && truth.otherDark && truth.otherDarkIs !== undefined,
  'nothing-there': (truth) =>
    !truth.bladderThere && !truth.wholeInView && truth.cutOn.length === 0 && truth.shadowOf === undefined,
};

describe('an exercise', () => {
  it.each(practiceLevels)('of the level %s is what it says', (level) => {
    for (const seed of seeds) {
      const { truth, phantom } = practiceSet(level, seed);
      expect([seed, truth, expected[level](truth)]).toEqual([seed, truth, true]);
      expect(phantom.truth.volumeMl > 0).toBe(level !== 'nothing-there');
    }
  });
  it('comes back from its level and seed, and says how far it is', () => {
    const shares: number[] = [];
    const first = practiceSet('shadowed', 5, (share) => shares.push(share));
    const again = practiceSet('shadowed', 5);
    expect(again.phantom.set.planes.map((plane) => plane.grey)).toEqual(
      first.phantom.set.planes.map((plane) => plane.grey),
    );
    expect(shares).toEqual([0.25, 0.5, 0.75, 1]);
  });
  it('of another seed is another one, and every kind of a level comes up', () => {
    const drawn = (level: PracticeLevel): Set<string> =>
      new Set(Array.from({ length: 40 }, (_, seed) => JSON.stringify(practiceRecipe(level, seed).features)));
    expect(drawn('look-alikes').size).toBe(3);
    expect(drawn('shadowed').size).toBe(2);
    expect(practiceRecipe('plain-view', 1).volumeMl).not.toBe(practiceRecipe('plain-view', 2).volumeMl);
  });
});
