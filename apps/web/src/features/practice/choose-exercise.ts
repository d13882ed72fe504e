/**
 * Which exercise an address means. Where the level would give the answer away, it is drawn from several by the seed and
 * told afterwards.
 *
 * Errors    practice/not-known
 */
import { refuse, seededRandom, type Refusal } from '@ebbline/core/quantity';
import {
  practiceExercises,
  practiceLevels,
  type PracticeExercise,
  type PracticeLevel,
} from '@ebbline/core/record';

export interface Choice {
  /** Stands in the address. */
  readonly name: string;
  readonly words: string;
  /** One of these, by the seed. */
  readonly levels: readonly PracticeLevel[];
}

const upTo = (count: number): readonly PracticeLevel[] => practiceLevels.slice(0, count);

export const choices: Readonly<Record<PracticeExercise, readonly Choice[]>> = {
  trace: [
    { name: 'plain', words: 'A plain view', levels: ['plain-view'] },
    { name: 'cut', words: 'Cut by the edge of the picture', levels: ['cut-by-edge'] },
    { name: 'shadow', words: 'Partly in shadow', levels: ['shadowed'] },
    { name: 'look-alikes', words: 'With a look-alike beside it', levels: ['look-alikes'] },
    { name: 'any', words: 'Any of these, or no bladder at all', levels: practiceLevels },
  ],
  judge: [
    { name: 'two', words: 'Plain or cut', levels: upTo(2) },
    { name: 'three', words: 'Plain, cut or in shadow', levels: upTo(3) },
    { name: 'four', words: 'Look-alikes too', levels: upTo(4) },
    { name: 'any', words: 'Any of these, or no bladder at all', levels: practiceLevels },
  ],
};

export interface Chosen {
  readonly exercise: PracticeExercise;
  readonly choice: Choice;
  readonly seed: number;
  readonly level: PracticeLevel;
}

export const mostSeed = 99_999;

/** `['trace', 'cut', '41']` of the address. */
export function chosenBy(path: readonly string[]): Chosen | Refusal {
  const [first, second, third = ''] = path;
  const exercise = practiceExercises.find((one) => one === first);
  const choice = exercise && choices[exercise].find((one) => one.name === second);
  const seed = /^\d{1,5}$/.test(third) ? Number(third) : undefined;
  if (!exercise || !choice || seed === undefined) {
    return refuse('practice/not-known', {
      asked: 'Exercise',
      found: 'an address of no exercise',
      allowed: `an exercise, a level and a number from 0 to ${mostSeed}`,
      todo: 'Choose an exercise from the list.',
    });
  }
  const level = seededRandom(Math.imul(seed + 1, 0x85ebca6b)).pick(choice.levels);
  return { exercise, choice, seed, level };
}
