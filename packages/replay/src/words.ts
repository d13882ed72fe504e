/** What a replay found, in words: names of figures, numbers with their intervals, sentences. */
import { labels } from '@ebbline/core/present';
import type { MeanInterval, ShareInterval } from '@ebbline/core/statistics';
import type { Answer } from './answer.ts';
import type { PairedFigure } from './paired.ts';
import type { HoursOver } from './real-hours.ts';
import type { EpisodesReplay, PastFigureName, ReplayedMoment } from './replay-episodes.ts';
import type { SimulatedFigureName, SimulatedReplay } from './replay-simulated.ts';

interface Named<Name> {
  readonly name: Name;
  readonly title: string;
  readonly digits: number;
}

export const pastFigures: readonly Named<PastFigureName>[] = [
  { name: 'catheterisations', title: 'Catheterisations advised', digits: 2 },
  { name: 'looks', title: 'Looks asked for', digits: 2 },
  { name: 'woken', title: 'Looks due at night, 23 to 6', digits: 2 },
  { name: 'waitMin', title: 'Minutes until the look', digits: 0 },
];

export const madeUpFigures: readonly Named<SimulatedFigureName>[] = [
  { name: 'hoursOverLimit', title: 'Hours over the limit', digits: 2 },
  { name: 'worstMl', title: 'Largest content, mL', digits: 0 },
  { name: 'looks', title: 'Looks', digits: 1 },
  { name: 'catheterisations', title: 'Catheterisations', digits: 2 },
  { name: 'needless', title: 'of them under four fifths of the limit', digits: 2 },
  { name: 'woken', title: 'Looks at night, 23 to 6', digits: 1 },
];

const counted = (count: number, one: string, many = `${one}s`): string =>
  `${count} ${count === 1 ? one : many}`;

/** `+0.50`, `−2.0`; what rounds to nothing has no sign. */
export function signed(value: number, digits: number): string {
  const size = Math.abs(value).toFixed(digits);
  if (Number(size) === 0) return size;
  return `${value < 0 ? '−' : '+'}${size}`;
}

const intervalWords = ({ low, high }: Pick<MeanInterval, 'low' | 'high'>, digits: number): string =>
  `${signed(low, digits)} to ${signed(high, digits)}`;

const shareWords = ({ low, high }: ShareInterval): string =>
  `95 % interval ${Math.round(100 * low)} to ${Math.round(100 * high)} in 100`;

/** `3 of 34`, and how far the share may lie from it. */
const differWords = ({ differ, patients, differShare }: PairedFigure): string =>
  differShare === undefined
    ? `${differ} of ${patients}`
    : `${differ} of ${patients} (${Math.round(100 * differShare.low)} to ${Math.round(100 * differShare.high)} in 100)`;

/** How far the draft moves a figure, percent of what it is in force; absent where that is nothing. */
export function percentOf({ inForce, difference }: PairedFigure): MeanInterval | undefined {
  if (difference === undefined || inForce <= 0) return undefined;
  const percent = (value: number): number => (100 * value) / inForce;
  return {
    mean: percent(difference.mean),
    low: percent(difference.low),
    high: percent(difference.high),
  };
}

export function answerWords(answer: Answer): string {
  if (answer.kind === 'none') return 'No answer';
  const { step, dueInMin, ownerRole, rowId } = answer;
  const said = labels.steps[step];
  const when = dueInMin > 0 ? `, within ${dueInMin} minutes` : /\bnow\b/.test(said) ? '' : ', now';
  return `${said}${when}: ${labels.roles[ownerRole].toLowerCase()} (row ${rowId})`;
}

export function pastSentences(past: EpisodesReplay): readonly string[] {
  const { changedPatients, changed, moments, seen, inForceDeparts, notAsked } = past;
  const { count, of, share } = changedPatients;
  const after = moments - seen;
  return [
    `Gone over: ${counted(past.episodes, 'finished watch', 'finished watches')} of ${counted(past.patients, 'patient')}, ${counted(moments, 'advised step')}. At each, both protocols were asked with what was known then.`,
    changed.length === 0
      ? `The draft answers every one of them as the protocol in force does.${share === undefined ? '' : ` With ${of} patients, a change for up to ${Math.ceil(100 * share.high)} in 100 can’t be excluded.`}`
      : `The draft answers ${counted(changed.length, 'step')} otherwise, for ${count} of ${counted(of, 'patient')}${share === undefined ? '' : ` (${shareWords(share)})`}.`,
    ...(after === 0
      ? []
      : [
          `After the first departure from what was advised, the later course was not seen: ${counted(after, 'advised step lies', 'advised steps lie')} there. They are in the list, and in no figure.`,
        ]),
    ...(inForceDeparts === 0
      ? []
      : [
          `At ${counted(inForceDeparts, 'step')} the protocol in force itself answers otherwise than was advised then: another version, or somebody charted later.`,
        ]),
    ...(notAsked === 0 ? [] : [`${counted(notAsked, 'advised step')} could not be asked again.`]),
  ];
}

const hoursWords = (hours: number): string => hours.toFixed(1);

export function hoursSentence({ patients, notValid, total }: HoursOver): string {
  const left = notValid === 0 ? '' : ` Of ${counted(notValid, 'watch', 'watches')} more nothing can be said.`;
  return `Hours over the limit in the course that happened, modelled from everything charted: ${hoursWords(total.likely)} h over ${counted(patients.length, 'watch', 'watches')}, at the widest ${hoursWords(total.low)} to ${hoursWords(total.high)} h.${left} How many it would have been under the draft was not seen; made-up wards model it.`;
}

export function madeUpSentences({ patients, hours, seed, unanswered }: SimulatedReplay): readonly string[] {
  return [
    `Modelled: ${patients} made-up patients, ${hours} h each, the same patients and the same chance under both (seed ${seed}). They show how the two compare under stated assumptions, not how they do on people.`,
    'Assumed alike for both: looks come at the protocol’s own time; a person who is called passes a catheter at or above the limit, and looks again in an hour under it; help to pass urine changes nothing.',
    ...(unanswered.inForce + unanswered.draft === 0
      ? []
      : [
          `Without an answer: the protocol in force ${counted(unanswered.inForce, 'time')}, the draft ${counted(unanswered.draft, 'time')}. A person decided there.`,
        ]),
  ];
}

/** The changed steps of one patient, the first in front. */
export interface ChangedPatient {
  readonly patient: string;
  readonly first: ReplayedMoment;
  readonly more: number;
}

export function changedPatients(changed: readonly ReplayedMoment[]): readonly ChangedPatient[] {
  return [...Map.groupBy(changed, (one) => one.patient)].flatMap(([patient, moments]) => {
    const [first] = moments;
    return first === undefined ? [] : [{ patient, first, more: moments.length - 1 }];
  });
}

/** Cells of a paired table, the same on the screen and on the terminal. */
export const pairedHeads = [
  'For each patient',
  'In force',
  'Draft',
  'Draft less in force',
  '95 % interval',
  'Patients who differ',
] as const;

export function pairedCells(figure: PairedFigure, digits: number): readonly string[] {
  const { difference } = figure;
  return [
    figure.inForce.toFixed(digits),
    figure.draft.toFixed(digits),
    difference ? signed(difference.mean, digits) : '–',
    difference ? intervalWords(difference, digits) : 'too few patients',
    differWords(figure),
  ];
}
