/** What the exercises are called and how a result reads. */
import { whole } from '@ebbline/core/present';
import type { PayloadOf, PracticeExercise, PracticeLevel, PracticeQuestion } from '@ebbline/core/record';
import type { OutlineSide, PlaneScore } from '@ebbline/imaging';

export const exerciseWords: Readonly<Record<PracticeExercise, string>> = {
  trace: 'Outline the bladder',
  judge: 'Judge the pictures',
};

export const levelWords: Readonly<Record<PracticeLevel, string>> = {
  'plain-view': 'plain view',
  'cut-by-edge': 'cut by the edge of the picture',
  shadowed: 'partly in shadow',
  'look-alikes': 'with a look-alike',
  'nothing-there': 'no bladder there',
};

export const questionWords: Readonly<Record<PracticeQuestion, string>> = {
  'bladder-there': 'Is a bladder with urine in these pictures?',
  'whole-in-view': 'Is the whole of it in view?',
  'what-hides': 'What hides a part of it?',
  'other-fluid': 'Is other fluid in view, as wide as a finger or more?',
};

const sideWords: Readonly<Record<OutlineSide, string>> = {
  left: "at the picture's left",
  right: "at the picture's right",
  near: 'near the probe',
  deep: 'at the deep wall',
};

export const mm = (value: number): string => Math.abs(value).toFixed(1);

/** "2.1 mm too far out". */
export const offWords = (signedMm: number): string =>
  Math.abs(signedMm) < 0.05 ? 'on it' : `${mm(signedMm)} mm too far ${signedMm > 0 ? 'out' : 'in'}`;

/** Sides that are off by more than this are named, mm (made here: about a pixel and a hand's tremble). */
const namedFromMm = 1.5;

export function planeScoreWords({ state, comparison }: PlaneScore): string {
  if (state === 'missed') return 'The bladder is on this plane and was not outlined.';
  if (state === 'too-many') return 'There is no bladder on this plane; what was outlined is something else.';
  if (state === 'empty' || !comparison) return 'There is no bladder on this plane, and none was outlined.';
  const sides = comparison.sides
    .filter((one) => Math.abs(one.biasMm) >= namedFromMm)
    .toSorted((a, b) => Math.abs(b.biasMm) - Math.abs(a.biasMm))
    .map((one) => `${offWords(one.biasMm)} ${sideWords[one.side]}`);
  const worst = `Furthest off: ${offWords(comparison.worst.signedMm)} ${sideWords[comparison.worst.side]}.`;
  return `${mm(comparison.meanMm)} mm off on average${sides.length > 0 ? `: ${sides.join(', ')}` : ''}. ${worst}`;
}

/** "25 mL (8 %) too little", "as much as there is". */
export function errorWords(errorMl: number, trueMl: number): string {
  const off = Math.round(errorMl);
  if (off === 0) return 'as much as there is';
  const share = trueMl > 0 ? ` (${Math.round(Math.abs(errorMl / trueMl) * 100)} %)` : '';
  return `${whole(Math.abs(off))} mL${share} too ${off > 0 ? 'much' : 'little'}`;
}

/** One result in a line. */
export function resultWords(payload: PayloadOf<'practised'>): string {
  if (payload.exercise === 'judge') {
    const right = payload.judgedRight?.length ?? 0;
    return `${right} of ${right + (payload.judgedWrong?.length ?? 0)} right`;
  }
  const outlined = payload.outlinedMl ?? 0;
  const off = payload.offMm === undefined ? '' : `, ${mm(payload.offMm)} mm off`;
  return `${whole(outlined)} mL of ${whole(payload.trueMl)} mL: ${errorWords(outlined - payload.trueMl, payload.trueMl)}${off}`;
}
