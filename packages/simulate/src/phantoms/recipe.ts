/**
 * What a phantom is made of, and the mix that is drawn from a seed. All shares are ours (S-phantom-mix): they say how
 * often a difficulty is met in the mix, not how often it is met on a ward.
 */
import { seededRandom, type RandomSource } from '@ebbline/core/quantity';
import type { Layout } from '@ebbline/imaging';
import { between } from './draw.ts';

/** The difficulties by name. Those marked measured are set from the truth, whatever the recipe asked for. */
export const phantomFeatures = [
  'clear', // no other difficulty
  'near-empty', // measured: at most 15 mL
  'small', // measured: above 15 and at most 60 mL
  'large', // measured: at least 600 mL
  'off-centre', // the bladder lies well beside the probe axis
  'partly-outside-side', // measured: cut by the side of the sectors
  'partly-outside-sweep', // measured: before the first plane of a sweep or behind its last
  'partly-outside-depth', // measured: cut by the lower end of the picture
  'pubic-shadow', // measured: hidden behind the pubic bone
  'gas-shadow', // measured: hidden behind bowel gas
  'haze', // strong double bounces of the belly wall over the front of the fluid
  'high-gain',
  'low-gain',
  'weak-far-wall', // dull far wall and little enhancement behind the fluid
  'poor-contact', // some beams without gel
  'indented-base', // prostate or uterus pushes into the bladder
  'diverticulum',
  'flattened',
  'triangular',
  'irregular', // uneven, trabeculated wall
  'catheter-balloon',
  'cyst-beside',
  'free-fluid',
  'vessel', // a wide vessel close beside the bladder
  'sediment', // echoes lying in the lowest part of the urine
  'empty', // no bladder with urine in it
  'pose-error', // the planes were not where the geometry says
  'depth-shift', // sound is slow in thick fat: everything is shown deeper than it lies
  'deep', // a thick belly wall
  'non-square-pixels',
  'uneven-steps', // planes at uneven, stated positions
] as const;
export type PhantomFeature = (typeof phantomFeatures)[number];

export type ProbeKind = 'curved' | 'tight-curved' | 'phased';

export interface PhantomRecipe {
  readonly layout: Layout;
  /** Two for `two_orthogonal_planes`. */
  readonly planeCount: number;
  readonly probe: ProbeKind;
  readonly frequencyMHz: number;
  readonly halfAngleDeg: number;
  /** Volume aimed at, met within about 1 %; the exact one stands in the truth. 0 = no bladder. */
  readonly volumeMl: number;
  readonly features: readonly PhantomFeature[];
  readonly widthPx: number;
  readonly fatMm: number;
  readonly wallMm: number;
  /** Gain about the usual setting. */
  readonly gainDb: number;
  readonly dynamicRangeDb: number;
}

/**
 * Shares of the mix. A shape is drawn once; the other difficulties stand side by side, each with its share of what is not
 * clear. A sweep that ends too early is met in sweeps only.
 */
export const mixShares = {
  layout: { rotational_fan: 0.45, tilt_sweep: 0.2, parallel_sweep: 0.2, two_orthogonal_planes: 0.15 },
  empty: 0.06,
  clear: 0.2,
  shape: {
    plain: 0.42,
    'indented-base': 0.16,
    diverticulum: 0.06,
    flattened: 0.12,
    triangular: 0.12,
    irregular: 0.12,
  },
  beside: {
    'off-centre': 0.12,
    'partly-outside-side': 0.08,
    'partly-outside-sweep': 0.1,
    'partly-outside-depth': 0.05,
    'pubic-shadow': 0.12,
    'gas-shadow': 0.09,
    haze: 0.22,
    'high-gain': 0.1,
    'low-gain': 0.1,
    'weak-far-wall': 0.14,
    'poor-contact': 0.08,
    'catheter-balloon': 0.04,
    'cyst-beside': 0.07,
    'free-fluid': 0.05,
    vessel: 0.08,
    sediment: 0.06,
    'pose-error': 0.08,
    'depth-shift': 0.08,
    deep: 0.1,
    'non-square-pixels': 0.08,
    'uneven-steps': 0.1,
  },
} as const satisfies {
  readonly layout: Readonly<Record<Layout, number>>;
  readonly empty: number;
  readonly clear: number;
  readonly shape: Readonly<Partial<Record<PhantomFeature | 'plain', number>>>;
  readonly beside: Readonly<Partial<Record<PhantomFeature, number>>>;
};

/** Whether the planes run from one end to another. */
export const isSweep = (layout: Layout): boolean => layout === 'tilt_sweep' || layout === 'parallel_sweep';

/** Volumes of the mix, log-uniform. */
const leastMl = 3;
const mostMl = 1000;

function oneOf<Name extends string>(shares: Readonly<Record<Name, number>>, random: RandomSource): Name {
  const names = Object.keys(shares) as Name[];
  let left = random.next() * names.reduce((sum, name) => sum + shares[name], 0);
  for (const name of names) {
    left -= shares[name];
    if (left < 0) return name;
  }
  return names[names.length - 1] as Name;
}

function drawFeatures(random: RandomSource): PhantomFeature[] {
  const fate = random.next();
  const shape = oneOf(mixShares.shape, random);
  const beside = (Object.keys(mixShares.beside) as (keyof typeof mixShares.beside)[]).filter(
    (name) => random.next() < mixShares.beside[name],
  );
  if (fate < mixShares.clear) return ['clear'];
  const features: PhantomFeature[] = shape === 'plain' ? [...beside] : [shape, ...beside];
  if (fate > 1 - mixShares.empty) return ['empty', ...beside.filter((name) => !needsBladder.has(name))];
  if (features.includes('high-gain')) return features.filter((name) => name !== 'low-gain');
  return features;
}

const needsBladder: ReadonlySet<PhantomFeature> = new Set([
  'off-centre',
  'partly-outside-side',
  'partly-outside-sweep',
  'partly-outside-depth',
  'pubic-shadow',
  'gas-shadow',
  'catheter-balloon',
  'sediment',
] as const);

/**
 * The recipe of a seed. What `fixed` names is kept; the rest is drawn to go with it.
 *
 * Domain    seed: an integer; the same seed and `fixed` give the same recipe
 */
export function drawRecipe(seed: number, fixed: Partial<PhantomRecipe> = {}): PhantomRecipe {
  const random = seededRandom(Math.imul(seed, 0x9e3779b1) ^ 0x51ed270b);
  const drawnLayout = oneOf(mixShares.layout, random);
  const drawnFeatures = drawFeatures(random);
  const drawnMl = Math.exp(between(random, Math.log(leastMl), Math.log(mostMl)));
  const drawnProbe = oneOf({ curved: 0.5, 'tight-curved': 0.3, phased: 0.2 } as const, random);
  const fan = 6 + random.below(13);
  const sweep = 9 + random.below(11);
  const half = random.next();
  const frequency = random.next();
  const fat = random.next();
  const wall = random.next();
  const gain = random.normal();
  const range = random.pick([50, 55, 60, 60, 66]);

  const layout = fixed.layout ?? drawnLayout;
  const features =
    fixed.features ?? drawnFeatures.filter((name) => isSweep(layout) || name !== 'partly-outside-sweep');
  const has = (name: PhantomFeature): boolean => features.includes(name);
  let volumeMl = fixed.volumeMl ?? drawnMl;
  if (fixed.volumeMl === undefined) {
    if (has('near-empty')) volumeMl = 4 + (drawnMl % 10);
    else if (has('small')) volumeMl = 20 + (drawnMl % 35);
    else if (has('large')) volumeMl = 620 + (drawnMl % 380);
    else if (has('catheter-balloon')) volumeMl = Math.max(drawnMl, 40);
    else if (has('diverticulum') || has('sediment')) volumeMl = Math.max(drawnMl, 60);
  }
  if (has('empty')) volumeMl = 0;
  const probe = fixed.probe ?? drawnProbe;
  const [narrow, wide] = probe === 'curved' ? [32, 40] : probe === 'phased' ? [42, 50] : [50, 58];
  const thick = has('depth-shift') ? 34 + 22 * fat : has('deep') ? 40 + 25 * fat : 8 + 18 * fat;
  return {
    layout,
    planeCount: layout === 'two_orthogonal_planes' ? 2 : layout === 'rotational_fan' ? fan : sweep,
    probe,
    frequencyMHz: (has('deep') || has('depth-shift') ? 2.4 : 3.1) + 0.9 * frequency,
    halfAngleDeg: narrow + (wide - narrow) * half,
    widthPx: 480,
    fatMm: thick,
    // A full bladder has a thinner wall (S-phantom-anatomy).
    wallMm: Math.max(
      2,
      (has('irregular') ? 4 : 2.2) + 4 * wall - 1.2 * Math.log10(Math.max(volumeMl, 10) / 10),
    ),
    gainDb: has('high-gain') ? 11 + gain : has('low-gain') ? -13 + gain : 2 * gain,
    dynamicRangeDb: range,
    ...fixed,
    volumeMl,
    features,
  };
}
