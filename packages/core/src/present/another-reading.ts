/** What another reading would bring where a reading's own error leaves the step open: one sentence. */
import type { AnotherReading } from '../facts/index.ts';

const times = (probability: number): string => {
  const tens = Math.round(probability * 10);
  return tens === 0
    ? 'less than 1 time in 10'
    : tens === 10
      ? 'nearly always'
      : `${tens} ${tens === 1 ? 'time' : 'times'} in 10`;
};

export function anotherReadingSentence({ same, other }: AnotherReading): string {
  const [own, theirTimes] = [times(same.settlesProbability), times(other.settlesProbability)];
  return own === theirTimes
    ? `Another reading would settle it ${own}; it takes 2 minutes.`
    : `Another reading by you would settle it ${own}, by somebody else ${theirTimes}; it takes 2 minutes.`;
}
