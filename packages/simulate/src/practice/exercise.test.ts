// Proves     every level is what its name says, over many seeds, as measured from the truth of the phantom; other fluid is
//            found where it is and nowhere else; the same level and seed give the same exercise.
// Published  a disc of radius r has the area π r², closed form
// Tolerance  exact; areas within 25 % (cells of 4 mm²)
import { describe, expect, it } from 'vitest';
import { practiceLevels, type PracticeLevel } from '@ebbline/core/record';
import { arrange, type Arranged } from '../phantoms/phantom.ts';
import { tissues } from '../phantoms/tissues.ts';
import { arrangeExercise, practiceRecipe, practiceSet, type PracticeTruth } from './exercise.ts';
import { otherFluidOf } from './other-fluid.ts';

const seeds = [1, 2, 3, 27, 64];

const expected: Readonly<Record<PracticeLevel, Partial<PracticeTruth>>> = {
  'plain-view': { bladderThere: true, wholeInView: true, hidden: 'nothing', otherFluid: false, cutOn: [] },
  'cut-by-edge': { bladderThere: true, wholeInView: false, hidden: 'edge', otherFluid: false },
  shadowed: { bladderThere: true, wholeInView: false, hidden: 'shadow', otherFluid: false, cutOn: [] },
  'look-alikes': { bladderThere: true, wholeInView: true, hidden: 'nothing', otherFluid: true },
  'nothing-there': { bladderThere: false, wholeInView: false, hidden: 'nothing', cutOn: [] },
};

describe('an exercise', () => {
  it.each(practiceLevels)('of the level %s is what it says', (level) => {
    for (const seed of seeds) {
      const { truth } = arrangeExercise(level, seed);
      expect({ seed, ...truth }).toMatchObject({ seed, ...expected[level] });
      if (level === 'cut-by-edge') expect(truth.cutOn.length).toBeGreaterThan(0);
      expect(truth.otherFluidIs !== undefined).toBe(truth.otherFluid);
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
    expect(drawn('look-alikes').size).toBe(2);
    expect(drawn('shadowed').size).toBe(2);
    expect(practiceRecipe('plain-view', 1).volumeMl).not.toBe(practiceRecipe('plain-view', 2).volumeMl);
  });
});

describe('other fluid', () => {
  /** The planes of a phantom with nothing in them but tubes along y: [x, z, radius, tissue]. */
  const tubes = (
    all: readonly (readonly [x: number, z: number, radius: number, tissue: 'blood' | 'fluid' | 'bone'])[],
  ): Arranged => {
    const arranged = arrange(1, {
      layout: 'parallel_sweep',
      planeCount: 9,
      features: ['clear'],
      volumeMl: 200,
    });
    const list = [...all.map(([, , , tissue]) => tissues[tissue]), tissues.pelvic];
    return {
      ...arranged,
      scene: {
        ...arranged.scene,
        tissues: list,
        at: (x, _y, z) => {
          const inside = all.findIndex(([tx, tz, radius]) => Math.hypot(x - tx, z - tz) < radius);
          return inside < 0 ? all.length : inside;
        },
      },
    };
  };
  it('is measured by the largest space in one piece, vessels left out', () => {
    const [first] = otherFluidOf(
      tubes([
        [-15, 110, 8, 'fluid'],
        [15, 110, 5, 'fluid'],
        [0, 140, 11, 'blood'],
      ]),
    );
    expect(Math.abs((first?.areaMm2 ?? 0) / (Math.PI * 64) - 1)).toBeLessThan(0.25);
  });
  it('is not seen behind bone', () => {
    expect(
      otherFluidOf(
        tubes([
          [0, 120, 6, 'fluid'],
          [0, 95, 9, 'bone'],
        ]),
      ),
    ).toEqual([]);
  });
  it('is none in tissue alone', () => {
    expect(otherFluidOf(tubes([]))).toEqual([]);
  });
});
