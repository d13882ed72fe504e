/** What another reading would bring where a reading's own error leaves the step open. */
import type { AnotherReading, PatientFacts } from '../facts/index.ts';
import type { Directory } from '../record/index.ts';
import type { Why } from './why.ts';
import { timelineRows } from './timeline.ts';
import { theirs, whole } from './words.ts';

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

const hundred = (probability: number): string => `${Math.round(100 * probability)} in 100`;

/** @param entryId the reading, where it is kept already */
export function whyAnotherReading(
  another: AnotherReading,
  facts: PatientFacts,
  zone: string,
  directory?: Directory,
  entryId?: string,
): Why {
  const { volumeMl, lineMl, standardDeviationMl, otherSideProbability, same, other } = another;
  const { repeatSharedShare, repeatSharedByOtherShare } = facts.settings;
  const brings = (
    who: string,
    { changesProbability, settlesProbability, wrongSideBefore, wrongSideAfter }: typeof same,
  ) =>
    `Averaged with one more by ${who}: settled ${hundred(settlesProbability)}, on the other side ${hundred(changesProbability)}; the chance of acting on the wrong side falls from ${hundred(wrongSideBefore)} to ${hundred(wrongSideAfter)}.`;
  return {
    rows:
      entryId === undefined
        ? []
        : timelineRows(facts, zone, directory).filter((row) => !row.setAside && row.id === entryId),
    sum: [
      `${whole(volumeMl)} mL lie ${whole(Math.abs(volumeMl - lineMl))} mL from ${theirs(facts)} limit of ${whole(lineMl)} mL. Readings of that size are off by about ${whole(standardDeviationMl)} mL (one standard deviation), so ${hundred(otherSideProbability)} that the truth is on the other side.`,
      brings('the same person', same),
      brings('somebody else', other),
      `A repeat has part of its error in common with the first: ${Math.round(100 * repeatSharedShare)} % by the same person, ${Math.round(100 * repeatSharedByOtherShare)} % by somebody else; the unit sets this. Settled means under 20 in 100 for the other side. A better aim may bring more than a repeat.`,
    ],
  };
}
