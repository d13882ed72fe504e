/**
 * How a reading from images was got: scale and layout with where they came from, the program's outlines and numbers, and
 * a person's outlines where one changed or drew them. Pictures are not kept; with this the volume can be worked out again.
 *
 * Frame     s, d on the plane in tenths of a millimetre (@ebbline/imaging plane-set), vertex after vertex
 * Units     as named
 * Errors    record/outline-uneven, when an outline's points and classes do not go together
 */
import * as s from '../quantity/shape.ts';
import { refuse, type Refusal } from '../quantity/refusal.ts';
import type { ValueOf } from '../quantity/shape.ts';
import * as words from './words.ts';

const mostPlanes = 400;
const mostVertices = 400;
const millilitres = () => s.maybe(s.decimal({ min: 0, max: 20_000, unit: 'mL' }));
const millimetres = (max: number) => s.decimal({ min: 0, max, unit: 'mm' });

const keptOutline = s.shape({
  plane: s.whole({ min: 0, max: mostPlanes - 1, unit: '' }),
  /** s, d of vertex after vertex. */
  pointsTenthMm: s.list(s.whole({ min: -10_000, max: 20_000, unit: 'tenths of a mm' }), 2 * mostVertices),
  /** A letter a vertex: s seen, w faint, i by guess, h in shadow, c cut; a capital where a person placed it. */
  seenAs: s.text(mostVertices),
});
export type KeptOutline = ValueOf<typeof keptOutline>;

const answered = {
  answer: s.choice(words.imageAnswers),
  volumeMl: millilitres(),
  lowMl: millilitres(),
  highMl: millilitres(),
  outlines: s.list(keptOutline, mostPlanes),
};

export const imageEvidence = s.shape({
  layout: s.choice(words.planeLayouts),
  layoutFrom: s.choice(words.givenFrom),
  scaleFrom: s.choice(words.givenFrom),
  mmPerPxX: s.maybe(millimetres(5)),
  mmPerPxY: s.maybe(millimetres(5)),
  /** Turn or tilt in degrees, or shift in mm, of each plane. */
  positions: s.list(s.decimal({ min: -1000, max: 1000, unit: 'degrees or mm' }), mostPlanes),
  halfAngleDeg: s.maybe(s.decimal({ min: 1, max: 90, unit: 'degrees' })),
  rMinMm: s.maybe(millimetres(1000)),
  rMaxMm: s.maybe(millimetres(1000)),
  drawnBy: s.choice(words.drawnBy),
  /** A person pointed at the bladder before the program drew. */
  pointedAt: s.maybe(s.flag()),
  /** Codes of the reasons to doubt it. */
  reasons: s.list(s.text(60), 20),
  /** What the program alone drew and said; missing when it was not asked. */
  program: s.maybe(s.shape(answered)),
  /** What stood when it was kept, where a person had a hand in it: only the planes they changed or drew. */
  person: s.maybe(s.shape({ who: s.text(80), at: s.instant(), outlines: s.list(keptOutline, mostPlanes) })),
});
export type ImageEvidence = ValueOf<typeof imageEvidence>;

const letters = { s: 'seen', w: 'weak', i: 'inferred', h: 'shadow', c: 'cut' } as const;
export type WallClass = (typeof letters)[keyof typeof letters];

export interface KeptVertex {
  readonly sMm: number;
  readonly dMm: number;
  readonly seenAs: WallClass;
  readonly byHand: boolean;
}

/** An outline as the record keeps it: a tenth of a millimetre is far below what any wall can be placed to. */
export function outlineToKeep(plane: number, vertices: readonly KeptVertex[]): KeptOutline {
  const letterOf = (one: KeptVertex): string => {
    const letter = Object.entries(letters).find(([, word]) => word === one.seenAs)?.[0] ?? 'i';
    return one.byHand ? letter.toUpperCase() : letter;
  };
  return {
    plane,
    pointsTenthMm: vertices.flatMap(({ sMm, dMm }) => [Math.round(10 * sMm), Math.round(10 * dMm)]),
    seenAs: vertices.map(letterOf).join(''),
  };
}

export function verticesKept({ pointsTenthMm, seenAs }: KeptOutline): readonly KeptVertex[] | Refusal {
  if (pointsTenthMm.length !== 2 * seenAs.length || /[^swihc]/i.test(seenAs)) {
    return refuse('record/outline-uneven', {
      asked: 'Kept outline',
      found: `${pointsTenthMm.length / 2} points with ${seenAs.length} letters`,
      allowed: 'one letter of s, w, i, h, c for each point',
      todo: 'Look at the volume and its reasons; this outline can not be drawn.',
    });
  }
  return [...seenAs].map((letter, index) => ({
    sMm: (pointsTenthMm[2 * index] ?? 0) / 10,
    dMm: (pointsTenthMm[2 * index + 1] ?? 0) / 10,
    seenAs: letters[letter.toLowerCase() as keyof typeof letters],
    byHand: letter !== letter.toLowerCase(),
  }));
}
