// Proves     an address gives one exercise, the same each time; what is drawn from several levels meets all of them.
import { describe, expect, it } from 'vitest';
import { isRefusal } from '@ebbline/core/quantity';
import { chosenBy, choices } from './choose-exercise.ts';

describe('an exercise by its address', () => {
  it('is the same each time', () => {
    expect(chosenBy(['judge', 'any', '812'])).toEqual(chosenBy(['judge', 'any', '812']));
    expect(chosenBy(['trace', 'shadow', '4'])).toMatchObject({
      exercise: 'trace',
      level: 'shadowed',
      seed: 4,
    });
  });
  it('meets every level that it may', () => {
    for (const [exercise, list] of Object.entries(choices)) {
      for (const { name, levels } of list) {
        const met = new Set<string>();
        for (let seed = 0; seed < 60; seed += 1) {
          const chosen = chosenBy([exercise, name, String(seed)]);
          if (!isRefusal(chosen)) met.add(chosen.level);
        }
        expect([...met].sort(), `${exercise} ${name}`).toEqual([...levels].sort());
      }
    }
  });
  it('is refused when it is none', () => {
    for (const path of [
      [],
      ['trace'],
      ['trace', 'cut'],
      ['trace', 'cut', 'x'],
      ['trace', 'cut', '123456'],
      ['guess', 'any', '1'],
    ])
      expect(chosenBy(path)).toMatchObject({ code: 'practice/not-known' });
  });
});
