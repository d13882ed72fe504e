/**
 * What goes wrong between a bladder and its chart, how often, and what each slip makes of a volume.
 *
 *     extra digit      150 → 1500          lost digit   430 → 43          swapped   350 → 530
 *     other chart      a volume of somebody else
 *
 * Units     mL; likelihoods are of one whole millilitre
 * Source    shares and shapes S-made-slip-settings; how many typed volumes are round S-job-4.2
 */

export type Fault =
  | 'extra-digit'
  | 'lost-digit'
  | 'swapped-digits'
  | 'other-chart'
  | 'cut-below'
  | 'other-fluid'
  | 'off-target';

/** What each is asked as. */
export const faultWords: Readonly<Record<Fault, string>> = {
  'extra-digit': 'a digit too many',
  'lost-digit': 'a digit missing',
  'swapped-digits': 'two digits swapped',
  'other-chart': "another patient's, or something that nobody wrote down",
  'cut-below': 'cut off below',
  'other-fluid': 'other fluid read as urine',
  'off-target': 'beside the bladder',
};

/** Share of volumes with each slip of the hand. S-made-slip-settings */
export const slipShares = {
  'extra-digit': 0.004,
  'lost-digit': 0.008,
  'swapped-digits': 0.004,
  'other-chart': 0.007,
} as const;

type Kind = 'reading' | 'void' | 'drained' | 'bag';

/** Shares of typed volumes that end in 0, and in 5: a jug and a bag have marks, a screen has digits. S-made-slip-settings */
const roundShares: Readonly<Record<Kind, { readonly tens: number; readonly fives: number }>> = {
  reading: { tens: 0.44, fives: 0.12 },
  void: { tens: 0.79, fives: 0.14 },
  drained: { tens: 0.82, fives: 0.15 },
  bag: { tens: 0.74, fives: 0.24 },
};

/** How much likelier a typed volume is for being as round as it is: mean 1 over whole millilitres. */
export function evenness(kind: Kind, volumeMl: number): number {
  const { tens, fives } = roundShares[kind];
  if (volumeMl % 10 === 0) return tens / 0.1;
  return volumeMl % 5 === 0 ? fives / 0.1 : (1 - tens - fives) / 0.8;
}

/** What is measured of anybody, log-normal: middle in mL and spread of the log. S-made-slip-settings */
const anyones: Readonly<Record<Kind, { readonly medianMl: number; readonly logSd: number }>> = {
  reading: { medianMl: 210, logSd: 0.8 },
  void: { medianMl: 200, logSd: 0.6 },
  drained: { medianMl: 420, logSd: 0.5 },
  bag: { medianMl: 280, logSd: 0.7 },
};
const perRootOfTwoPi = 1 / Math.sqrt(2 * Math.PI);
/** A screen that shows nothing is not rare. */
const leastMl = 15;

/** How likely somebody's volume is so much. */
export function anyonesVolume(kind: Kind, volumeMl: number): number {
  const { medianMl, logSd } = anyones[kind];
  const ml = Math.max(leastMl, volumeMl);
  const z = Math.log(ml / medianMl) / logSd;
  return (Math.exp(-0.5 * z * z) * perRootOfTwoPi) / (logSd * ml);
}

/** A digit too many is most often a nought at the end. */
const noughtShare = 0.5;

/** Every whole volume from which a slip of the keys makes this one, with how likely it then does. */
function* meant(volumeMl: number): Generator<readonly [keyof typeof slipShares, number, number]> {
  const keyed = String(volumeMl);
  const { length } = keyed;
  for (let place = 0; place < length && length > 1; place += 1) {
    const without = keyed.slice(0, place) + keyed.slice(place + 1);
    if (without.startsWith('0') && without !== '0') continue;
    const nought = place === length - 1 && keyed.endsWith('0') ? noughtShare : 0;
    yield ['extra-digit', Number(without), nought + (1 - noughtShare) / (10 * length)];
  }
  for (let place = 0; place <= length; place += 1)
    for (let digit = place === 0 ? 1 : 0; digit < 10; digit += 1) {
      // The same digit beside itself is one volume, met at each of its places.
      const longer = Number(`${keyed.slice(0, place)}${digit}${keyed.slice(place)}`);
      yield ['lost-digit', longer, 1 / (length + 1)];
    }
  for (let place = 0; place + 1 < length; place += 1) {
    const [one, other] = [keyed.charAt(place), keyed.charAt(place + 1)];
    if (one === other || (place === 0 && other === '0')) continue;
    const swapped = Number(keyed.slice(0, place) + other + one + keyed.slice(place + 2));
    yield ['swapped-digits', swapped, 1 / (length - 1)];
  }
}

/** How likely each slip of the keys shows so much, where `sound` says how likely each volume was to be keyed. */
export function slipsOfKeys(
  volumeMl: number,
  sound: (volumeMl: number) => number,
): readonly (readonly [Fault, number])[] {
  const sums = new Map<keyof typeof slipShares, number>();
  if (!Number.isInteger(volumeMl)) return [];
  for (const [fault, meantMl, likely] of meant(volumeMl)) {
    if (meantMl > largestMeantMl) continue;
    sums.set(fault, (sums.get(fault) ?? 0) + slipShares[fault] * likely * sound(meantMl));
  }
  return [...sums];
}

/** Nobody means more. S-made-volume-ceiling */
const largestMeantMl = 5000;
