/**
 * Exercises on phantoms: which phantom a level and a seed give, and what is true of it in the words of the questions.
 *
 * Domain    seed: an integer from 0 to 99,999; the same level and seed give the same exercise on the same build
 * Source    levels, their volumes and sizes made here (S-phantom-mix)
 */
import { seededRandom } from '@ebbline/core/quantity';
import type { PracticeLevel } from '@ebbline/core/record';
import type { Layout } from '@ebbline/imaging';
import type { Phantom, PhantomFeature, PhantomRecipe } from '../phantoms/index.ts';
import { arrange, phantom, type Arranged } from '../phantoms/phantom.ts';
import { otherFluidOf } from './other-fluid.ts';

/** The picture's edges, a shadow, both, or nothing. */
export const hiders = ['nothing', 'edge', 'shadow', 'both'] as const;
export type Hider = (typeof hiders)[number];

export type PictureEdge = 'left' | 'right' | 'deep' | 'sweep-end';
export type OtherFluidKind = 'cyst' | 'free-fluid';

/** What is true of an exercise, and on which planes it shows. */
export interface PracticeTruth {
  readonly bladderThere: boolean;
  readonly wholeInView: boolean;
  readonly hidden: Hider;
  /** Another space of fluid is seen, as wide as a finger or more. */
  readonly otherFluid: boolean;
  /** Planes on which the bladder runs past an edge; `sweep-end` on the first or the last plane of a sweep. */
  readonly cutOn: readonly { readonly plane: number; readonly edge: PictureEdge }[];
  readonly shadowOf?: 'bone' | 'gas';
  readonly otherFluidIs?: OtherFluidKind;
  /** The plane that shows the most of it. */
  readonly otherFluidOn?: number;
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
  'look-alikes': [fan('cyst-beside'), fan('free-fluid')],
  'nothing-there': [fan('empty'), fan('empty', 'cyst-beside'), fan('empty', 'free-fluid')],
};

/** Whether what came out is what the level promises, by what was measured. */
const keepsPromise: Readonly<Record<PracticeLevel, (truth: PracticeTruth) => boolean>> = {
  'plain-view': (truth) => truth.wholeInView && !truth.otherFluid,
  'cut-by-edge': (truth) => truth.hidden === 'edge' && truth.cutOn.length > 0 && !truth.otherFluid,
  shadowed: (truth) => truth.hidden === 'shadow' && !truth.otherFluid,
  'look-alikes': (truth) => truth.wholeInView && truth.otherFluid,
  'nothing-there': (truth) => !truth.bladderThere,
};

/** Volumes of the exercises: large enough to outline, small enough to fit the picture. */
const leastMl = 130;
const mostMl = 420;
const pictureWidthPx = 420;
/** So many phantoms are tried until one keeps the promise of its level. */
const tries = 12;
/** Larger than any seed: the phantoms of further tries are those of no other exercise. */
const seedsApart = 100_000;
/** As wide as a finger: a disc of 15 mm. */
const fingerMm2 = 180;
/** A part of an outline past an edge by at least this shows, mm. */
const cutFromMm = 2;

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

function edgesCut({ geometry, truth }: Arranged): PracticeTruth['cutOn'] {
  const { halfAngleDeg, rMaxMm } = geometry.sector;
  const half = (halfAngleDeg * Math.PI) / 180;
  const left = (s: number, d: number): number => -s * Math.cos(half) - d * Math.sin(half);
  const right = (s: number, d: number): number => s * Math.cos(half) - d * Math.sin(half);
  const past: Readonly<Record<Exclude<PictureEdge, 'sweep-end'>, (s: number, d: number) => number>> = {
    left,
    right,
    // Past a side and deep as well counts for the side, where the dark is seen to run out.
    deep: (s, d) => (left(s, d) > 0 || right(s, d) > 0 ? 0 : Math.hypot(s, d) - rMaxMm),
  };
  const found: { plane: number; edge: PictureEdge }[] = [];
  const last = truth.outlines.length - 1;
  for (const [plane, polygons] of truth.outlines.entries()) {
    const points = polygons.flat();
    for (const edge of ['left', 'right', 'deep'] as const)
      if (points.some(([s, d]) => past[edge](s, d) >= cutFromMm)) found.push({ plane, edge });
    if (
      truth.features.includes('partly-outside-sweep') &&
      points.length > 0 &&
      (plane === 0 || plane === last)
    )
      found.push({ plane, edge: 'sweep-end' });
  }
  return found;
}

function truthOf(arranged: Arranged): PracticeTruth {
  const { truth } = arranged;
  const has = (...names: PhantomFeature[]): boolean => names.some((name) => truth.features.includes(name));
  const there = truth.bladderPresent;
  const edge = has('partly-outside-side', 'partly-outside-depth', 'partly-outside-sweep');
  const shadowOf = has('pubic-shadow') ? 'bone' : has('gas-shadow') ? 'gas' : undefined;
  const hidden: Hider = edge ? (shadowOf ? 'both' : 'edge') : shadowOf ? 'shadow' : 'nothing';
  const [other] = otherFluidOf(arranged).filter((one) => one.areaMm2 >= fingerMm2);
  return {
    bladderThere: there,
    wholeInView: there && hidden === 'nothing',
    hidden: there ? hidden : 'nothing',
    otherFluid: other !== undefined,
    cutOn: edgesCut(arranged),
    ...(shadowOf && there ? { shadowOf } : {}),
    ...(other
      ? {
          otherFluidIs: has('cyst-beside') ? 'cyst' : 'free-fluid',
          otherFluidOn: other.plane,
        }
      : {}),
  };
}

/** The phantom of an exercise before its pictures are made. */
export function arrangeExercise(
  level: PracticeLevel,
  seed: number,
): { readonly phantomSeed: number; readonly recipe: Partial<PhantomRecipe>; readonly truth: PracticeTruth } {
  for (let attempt = 0; ; attempt += 1) {
    const phantomSeed = seed + attempt * seedsApart;
    const recipe = practiceRecipe(level, phantomSeed);
    const truth = truthOf(arrange(phantomSeed, recipe));
    if (keepsPromise[level](truth) || attempt === tries - 1) return { phantomSeed, recipe, truth };
  }
}

/** Takes a second or two of work; `onPlane` hears the share of the pictures done. */
export function practiceSet(
  level: PracticeLevel,
  seed: number,
  onPlane?: (share: number) => void,
): PracticeSet {
  const { phantomSeed, recipe, truth } = arrangeExercise(level, seed);
  return { phantom: phantom(phantomSeed, recipe, onPlane), truth };
}
