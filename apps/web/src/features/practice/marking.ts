/**
 * Answers of a person held against what is true of a phantom, and the entry that keeps the result.
 *
 * Units     mL, mm
 * Domain    every question that was asked has an answer; what hides a part is asked only after "not the whole is in view"
 */
import type { PayloadOf, PracticeQuestion } from '@ebbline/core/record';
import type { OutlineScore } from '@ebbline/imaging';
import type { Hider, PictureEdge, PracticeTruth } from '@ebbline/simulate';
import type { Chosen } from './choose-exercise.ts';

export interface Judgement {
  readonly there?: boolean;
  readonly whole?: boolean;
  readonly hides?: Exclude<Hider, 'nothing'>;
  readonly otherFluid?: boolean;
}

/** The questions that follow from the answers so far. */
export function asked({ there, whole }: Judgement): readonly PracticeQuestion[] {
  return [
    'bladder-there',
    ...(there === true ? (['whole-in-view'] as const) : []),
    ...(there === true && whole === false ? (['what-hides'] as const) : []),
    'other-fluid',
  ];
}

const answerTo = (judgement: Judgement, question: PracticeQuestion): boolean | Hider | undefined =>
  ({
    'bladder-there': judgement.there,
    'whole-in-view': judgement.whole,
    'what-hides': judgement.hides,
    'other-fluid': judgement.otherFluid,
  })[question];

export const isAnswered = (judgement: Judgement): boolean =>
  asked(judgement).every((question) => answerTo(judgement, question) !== undefined);

export interface Marked {
  readonly question: PracticeQuestion;
  readonly theirs: string;
  readonly truth: string;
  readonly right: boolean;
  /** What on the pictures shows it; empty when the next row says it. */
  readonly shownBy: string;
}

export const hiderWords: Readonly<Record<Hider, string>> = {
  nothing: 'nothing',
  edge: 'the edge of the picture',
  shadow: 'a shadow',
  both: 'the edge and a shadow',
};
const edgeWords: Readonly<Record<PictureEdge, string>> = {
  left: 'left edge',
  right: 'right edge',
  deep: 'lower edge',
  'sweep-end': 'end of the sweep',
};
const yesNo = (value: boolean): string => (value ? 'yes' : 'no');

function hiddenWords({ cutOn, shadowOf, hidden }: PracticeTruth): string {
  const cut =
    hidden === 'edge' || hidden === 'both'
      ? `The dark runs on to ${cutOn
          .map(({ plane, edge }) =>
            edge === 'sweep-end'
              ? `the ${edgeWords[edge]}, plane ${plane + 1}`
              : `the ${edgeWords[edge]} of plane ${plane + 1}`,
          )
          .join(', ')}, and no wall closes it there.`
      : '';
  const shade =
    shadowOf === 'bone'
      ? 'Behind the bright arc of the pubic bone, towards the feet, nothing comes back: a dark stripe runs along the beams to the bottom of the picture, and the wall in it is not seen.'
      : shadowOf === 'gas'
        ? 'Behind bright bowel gas nothing clear comes back: a stripe runs along the beams to the bottom of the picture, and the wall in it is not seen.'
        : '';
  return (
    [cut, shade].filter((one) => one !== '').join(' ') ||
    'The wall can be followed all around on every plane that shows it.'
  );
}

const otherFluidWords: Readonly<Record<NonNullable<PracticeTruth['otherFluidIs']>, string>> = {
  cyst: 'A cyst: round, dark, with a thin wall of its own.',
  'free-fluid': 'Free fluid between the loops of bowel: dark, with pointed corners and no wall of its own.',
};

const otherFluidSeen = ({ otherFluidIs, otherFluidOn }: PracticeTruth): string =>
  otherFluidIs && otherFluidOn !== undefined
    ? `${otherFluidWords[otherFluidIs]} It shows best on plane ${otherFluidOn + 1}.`
    : '';

function thereWords(truth: PracticeTruth): string {
  if (truth.bladderThere)
    return 'The large dark space that is bright behind its far wall is the bladder. Its true outline is drawn on the planes.';
  return truth.otherFluid
    ? `No bladder with urine is there. What is dark is something else. ${otherFluidSeen(truth)}`
    : 'No bladder with urine is there: no large dark space is bright behind its far wall on several planes.';
}

export function markJudgement(judgement: Judgement, truth: PracticeTruth): readonly Marked[] {
  const rows: Readonly<Record<PracticeQuestion, Omit<Marked, 'question'>>> = {
    'bladder-there': {
      theirs: yesNo(judgement.there === true),
      truth: yesNo(truth.bladderThere),
      right: judgement.there === truth.bladderThere,
      shownBy: thereWords(truth),
    },
    'whole-in-view': {
      theirs: yesNo(judgement.whole === true),
      truth: truth.bladderThere ? yesNo(truth.wholeInView) : 'there is none',
      right: truth.bladderThere && judgement.whole === truth.wholeInView,
      shownBy: truth.bladderThere ? hiddenWords(truth) : thereWords(truth),
    },
    'what-hides': {
      theirs: hiderWords[judgement.hides ?? 'nothing'],
      truth: truth.bladderThere ? hiderWords[truth.hidden] : 'there is none',
      right: judgement.hides === truth.hidden,
      shownBy: truth.bladderThere ? hiddenWords(truth) : thereWords(truth),
    },
    'other-fluid': {
      theirs: yesNo(judgement.otherFluid === true),
      truth: yesNo(truth.otherFluid),
      right: judgement.otherFluid === truth.otherFluid,
      shownBy: truth.otherFluid
        ? otherFluidSeen(truth)
        : 'Nothing else of that width holds fluid. A dark stripe that runs along the beams to the bottom of the picture is a shadow; small round dots at the sides are vessels.',
    },
  };
  const questions = asked(judgement);
  return questions.map((question) => ({
    question,
    ...rows[question],
    // What hides a part is explained once, at the question that asks for it.
    ...(question === 'whole-in-view' && questions.includes('what-hides') ? { shownBy: '' } : {}),
  }));
}

type Entry = PayloadOf<'practised'>;

const of = ({ exercise, level, seed }: Chosen): Pick<Entry, 'exercise' | 'level' | 'seed'> => ({
  exercise,
  level,
  seed,
});

export function judgementEntry(chosen: Chosen, marked: readonly Marked[], trueMl: number): Entry {
  const those = (right: boolean): readonly PracticeQuestion[] =>
    marked.filter((one) => one.right === right).map((one) => one.question);
  return {
    ...of(chosen),
    trueMl: Math.round(trueMl),
    judgedRight: those(true),
    judgedWrong: those(false),
  };
}

/** The largest volume that the record takes. */
const mostMl = 4000;

export function traceEntry(chosen: Chosen, score: OutlineScore, start: NonNullable<Entry['start']>): Entry {
  const count = (state: 'missed' | 'too-many'): number =>
    score.planes.filter((one) => one.state === state).length;
  return {
    ...of(chosen),
    trueMl: Math.round(score.trueMl),
    start,
    outlinedMl: Math.min(mostMl, Math.round(score.outlinedMl)),
    ...(score.offMm === undefined ? {} : { offMm: Math.round(score.offMm * 10) / 10 }),
    planesMissed: count('missed'),
    planesTooMany: count('too-many'),
  };
}
