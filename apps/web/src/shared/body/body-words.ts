/** A body in words: what the drawing shows, for those who can't see it. */
import { whole } from '@ebbline/core/present';
import type { Body, BodyMeasures, BodySide } from '@ebbline/imaging';

export const sideWords: Readonly<Record<BodySide, string>> = {
  head: 'towards the head',
  feet: 'towards the feet',
  front: 'in front, by the probe',
  back: 'at the back',
  'picture-left': "at the picture's left",
  'picture-right': "at the picture's right",
};

const perCent = (share: number): number => Math.round(100 * share);

/** "not seen", "28 % not seen", "seen". */
export function shareWords(hiddenShare: number): string {
  const part = perCent(hiddenShare);
  if (part === 0) return 'seen';
  return part >= 100 ? 'not seen' : `${part} % not seen`;
}

export function extentWords({ lengthMm, widthMm, depthMm }: BodyMeasures): string {
  return `Length ${whole(lengthMm)} mm from head to feet, width ${whole(widthMm)} mm, depth ${whole(depthMm)} mm.`;
}

/** Which parts nobody saw, the worst side first. */
export function hiddenWords({ hiddenShare, sides }: BodyMeasures): string {
  if (perCent(hiddenShare) === 0) return 'The wall was seen on every side.';
  const parts = sides
    .filter((one) => perCent(one.hiddenShare) >= 5)
    .sort((a, b) => b.hiddenShare - a.hiddenShare)
    .map((one) => `${sideWords[one.side]} (${Math.min(100, perCent(one.hiddenShare))} %)`);
  const where = parts.length === 0 ? '' : `: ${parts.join(', ')}`;
  return `${perCent(hiddenShare)} % of the wall was not seen and is drawn by guess${where}.`;
}

/** Two ways to the volume, held against each other. */
export function volumeWords(body: Body, sumMl: number | undefined): string {
  const own = `This body holds ${whole(body.volumeMl)} mL`;
  if (sumMl === undefined) return `${own}.`;
  const off = Math.abs(body.volumeMl - sumMl);
  const apart = off > Math.max(10, 0.1 * sumMl);
  return `${own}; the sum over the planes says ${whole(sumMl)} mL. ${
    apart ? 'The two differ: look at the outlines again, plane by plane.' : 'The two agree.'
  }`;
}
