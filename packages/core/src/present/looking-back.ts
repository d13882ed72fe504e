/** Since when somebody found over the limit probably was, in one sentence, and what is behind it. */
import { calendarDay, hourMs, minuteMs } from '../quantity/index.ts';
import type { LookBack, PatientFacts } from '../facts/index.ts';
import type { Directory } from '../record/index.ts';
import { whySpan, type Why } from './why.ts';
import { clock, clockOrDay, duration, theirs, whole } from './words.ts';

const tenths = (share: number): string => {
  const tens = Math.round(share * 10);
  return tens === 0 ? 'less than 1 in 10' : tens === 10 ? 'more than 9 in 10' : `about ${tens} in 10`;
};

/** `25 min`, `1.9 h`. */
const hoursWords = (hours: number): string => (hours < 0.95 ? duration(hours * 60) : `${hours.toFixed(1)} h`);

/** To what the paths can tell apart: `under 5`, `35`, `260`. */
const mlHoursWords = (mlHours: number): string => {
  const step = mlHours < 100 ? 5 : 10;
  const rounded = Math.round(mlHours / step) * step;
  return rounded < 5 ? 'under 5' : whole(rounded);
};

/** Whether a time may be said: most of the courses were over, and what was charted explains how. */
const timeIsSaid = (back: LookBack): boolean =>
  back.overShare >= 0.5 && back.unexplainedShare <= 0.5 && back.crossing !== undefined;

export function lookBackSentence(back: LookBack, nowMs: number, zone: string): string {
  const at = (ms: number): string => clockOrDay(ms, nowMs, zone);
  const { crossing, found, foundBy, hoursOver, mlHoursOver, overShare, stretch } = back;
  if (timeIsSaid(back) && crossing !== undefined) {
    const amount = `${hoursWords(hoursOver.likely)} and ${mlHoursWords(mlHoursOver.likely)} mL·h above it${stretch.emptied ? '' : ' so far'}`;
    const likely = at(crossing.likelyAtMs);
    // The day is said once.
    const beside = (ms: number): string =>
      calendarDay(ms, zone) === calendarDay(crossing.likelyAtMs, zone) ? clock(ms, zone) : at(ms);
    const [earliest, latest] = [crossing.earliestAtMs, crossing.latestAtMs].map(beside);
    if (crossing.likelyAtMs < stretch.fromMs + minuteMs)
      return `Probably over the limit since before ${at(stretch.fromMs)}, ${amount} at least.`;
    return earliest === latest
      ? `Probably over the limit from about ${likely}, ${amount}.`
      : `Probably over the limit from about ${likely} (between ${earliest} and ${latest}), ${amount}.`;
  }
  const seen = `${whole(found.volumeMl)} mL ${foundBy === 'drained' ? 'drained' : 'read'}`;
  // Looking back is for learning: as long as somebody has to act, it says nothing that could reassure.
  if (!stretch.emptied) return `Since when it was over the limit can’t be said yet; go by the ${seen}.`;
  if (foundBy === 'reading' && back.unexplainedShare <= 0.5)
    return `Perhaps it was never over the limit: ${tenths(overShare)} that it was, with ${seen} and what else is charted.`;
  const { low, high } = back.plainHours;
  return `What else is charted does not fit ${seen}, so it can’t be said since when it was over the limit. By plain sum ${whole(found.volumeMl - found.limitMl)} mL above it take ${low.toFixed(1)} to ${high.toFixed(1)} h to run in.`;
}

/** Behind that sentence: the entries of the stretch and what followed, and how it was come by. */
export function whyLookBack(back: LookBack, facts: PatientFacts, zone: string, directory?: Directory): Why {
  const { found, foundBy, hoursOver, mlHoursOver, overShare, paths, stretch, unexplainedShare } = back;
  const at = (ms: number): string => clockOrDay(ms, facts.nowMs, zone);
  const until = stretch.emptied ? `until it was emptied at ${at(stretch.toMs)}` : 'until now';
  const plain = found.overMin;
  const span = { fromMs: stretch.fromMs, toMs: Math.min(facts.nowMs, stretch.toMs + 3 * hourMs) };
  return {
    rows: whySpan(span, facts, zone, directory).rows,
    sum: [
      `${whole(found.volumeMl)} mL were ${foundBy === 'drained' ? 'drained' : 'read'} at ${at(found.atMs)}, over ${theirs(facts)} limit of ${whole(found.limitMl)} mL. What was charted before and after was weighed together, urine that nobody wrote down too.`,
      `Of ${whole(paths)} courses that fit, ${overShare > 0.99 ? 'nearly all' : `${Math.round(100 * overShare)} in 100`} were over the limit then${unexplainedShare >= 0.1 ? `; of these, ${Math.round(100 * unexplainedShare)} in 100 do not say how it came to be so much` : ''}.`,
      ...(timeIsSaid(back)
        ? [
            `Counted ${until}, nine times in ten: ${hoursOver.low.toFixed(1)} to ${hoursOver.high.toFixed(1)} h, and ${whole(mlHoursOver.low)} to ${whole(mlHoursOver.high)} mL·h. 100 mL too much for an hour are 100 mL·h.`,
          ]
        : []),
      ...(plain === undefined
        ? []
        : [
            `By one straight line from the last known volume it was over for about ${Math.round(plain.likely)} min when it was found.`,
          ]),
      'This is for learning, not for blame, and decides nothing.',
    ],
  };
}
