/**
 * Exercises on phantoms: which phantom a level and a seed give, and what is true of it in the words of the questions.
 *
 * Domain    seed: an integer from 0; the same level and seed give the same exercise on the same build
 * Source    levels and their volumes made here (S-phantom-mix)
 */
import { seededRandom } from '@ebbline/core/quantity';
import type { PracticeLevel } from '@ebbline/core/record';
import type { Layout, PlaneSetGeometry } from '@ebbline/imaging';
import { phantom, type Phantom, type PhantomFeature, type PhantomRecipe } from '../phantoms/index.ts';

/** The picture's edges, a shadow, both, or nothing. */
export const hiders = ['nothing', 'edge', 'shadow', 'both'] as const;
export type Hider = (typeof hiders)[number];

export type PictureEdge = 'left' | 'right' | 'deep';

/** What is true of an exercise, and on which planes it shows. */
export interface PracticeTruth {
  readonly bladderThere: boolean;
  readonly wholeInView: boolean;
  readonly hidden: Hider;
  readonly otherDark: boolean;
  /** Planes on which the bladder runs past an edge. */
  readonly cutOn: readonly { readonly plane: number; readonly edge: PictureEdge }[];
  readonly shadowOf?: 'bone' | 'gas';
  readonly otherDarkIs?: 'cyst' | 'free-fluid' | 'vessel';
}

export interface PracticeSet {
  readonly phantom: Phantom;
  readonly truth: PracticeTruth;
}

interface Kind {
  readonly layout: Layout;
  readonly planeCount: number;
  readonly features: readonly PhantomFeature[];
}

/** A fan of four shows the whole bladder on few planes, so that outlining it takes minutes. */
const fan = (...features: PhantomFeature[]): Kind => ({ layout: 'rotational_fan', planeCount: 4, features });
const sweep = (...features: PhantomFeature[]): Kind => ({ layout: 'tilt_sweep', planeCount: 5, features });

const kinds: Readonly<Record<PracticeLevel, readonly Kind[]>> = {
  'plain-view': [fan('clear')],
  'cut-by-edge': [sweep('partly-outside-side'), fan('partly-outside-depth')],
  shadowed: [fan('pubic-shadow'), fan('gas-shadow')],
  'look-alikes': [fan('cyst-beside'), fan('free-fluid'), fan('vessel')],
  'nothing-there': [fan('empty'), fan('empty', 'cyst-beside'), fan('empty', 'free-fluid')],
};

/** Volumes of the exercises: large enough to outline, small enough to fit the picture. */
const leastMl = 130;
const mostMl = 420;
const pictureWidthPx = 420;

export function practiceRecipe(level: PracticeLevel, seed: number): Partial<PhantomRecipe> {
  const random = seededRandom(Math.imul(seed + 1, 0x27d4eb2f) ^ 0x165667b1);
  const { layout, planeCount, features } = random.pick(kinds[level]);
  return {
    layout,
    planeCount,
    features,
    probe: 'curved',
    widthPx: pictureWidthPx,
    volumeMl: level === 'nothing-there' ? 0 : Math.round(leastMl + (mostMl - leastMl) * random.next()),
  };
}

/** A part of an outline past an edge by at least this shows, mm (made here). */
const cutFromMm = 2;

function edgesCut(
  geometry: PlaneSetGeometry,
  outlines: Phantom['truth']['outlines'],
): PracticeTruth['cutOn'] {
  const { halfAngleDeg, rMaxMm } = geometry.sector;
  const half = (halfAngleDeg * Math.PI) / 180;
  const found: { plane: number; edge: PictureEdge }[] = [];
  for (const [plane, polygons] of outlines.entries()) {
    const points = polygons.flat();
    const left = (s: number, d: number): number => -s * Math.cos(half) - d * Math.sin(half);
    const right = (s: number, d: number): number => s * Math.cos(half) - d * Math.sin(half);
    const past: Readonly<Record<PictureEdge, (s: number, d: number) => number>> = {
      left,
      right,
      // Past a side and deep as well counts for the side, where the dark is seen to run out.
      deep: (s, d) => (left(s, d) > 0 || right(s, d) > 0 ? 0 : Math.hypot(s, d) - rMaxMm),
    };
    for (const edge of ['left', 'right', 'deep'] as const)
      if (points.some(([s, d]) => past[edge](s, d) >= cutFromMm)) found.push({ plane, edge });
  }
  return found;
}

export function practiceTruth({ set, truth }: Phantom): PracticeTruth {
  const has = (name: PhantomFeature): boolean => truth.features.includes(name);
  const there = truth.bladderPresent;
  const edge = has('partly-outside-side') || has('partly-outside-depth');
  const shadowOf = has('pubic-shadow') ? 'bone' : has('gas-shadow') ? 'gas' : undefined;
  const hidden: Hider = edge ? (shadowOf ? 'both' : 'edge') : shadowOf ? 'shadow' : 'nothing';
  const otherDarkIs = has('cyst-beside')
    ? 'cyst'
    : has('free-fluid')
      ? 'free-fluid'
      : has('vessel')
        ? 'vessel'
        : undefined;
  return {
    bladderThere: there,
    wholeInView: there && hidden === 'nothing',
    hidden: there ? hidden : 'nothing',
    otherDark: otherDarkIs !== undefined,
    cutOn: edgesCut(set.geometry, truth.outlines),
    ...(shadowOf && there ? { shadowOf } : {}),
    ...(otherDarkIs ? { otherDarkIs } : {}),
  };
}

/** Takes a second or two of work; `onPlane` hears the share done. */
export function practiceSet(
  level: PracticeLevel,
  seed: number,
  onPlane?: (share: number) => void,
): PracticeSet {
  const made = phantom(seed, practiceRecipe(level, seed), onPlane);
  return { phantom: made, truth: practiceTruth(made) };
}
