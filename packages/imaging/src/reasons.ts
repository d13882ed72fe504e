/** Reasons to distrust a volume, in plain words, each with a stable code. */
export type ReasonCode =
  | 'near-empty'
  | 'small'
  | 'outside-picture'
  | 'lower-wall-shadow'
  | 'wall-shadow'
  | 'faint-wall'
  | 'planes-disagree'
  | 'more-than-one-region'
  | 'off-centre'
  | 'perhaps-free-fluid'
  | 'two-planes-only'
  | 'irregular'
  | 'calipers-disagree'
  | 'layout-by-hand'
  | 'nothing-dark'
  | 'low-contrast';

export interface Reason {
  readonly code: ReasonCode;
  readonly words: string;
}

const words: Readonly<Record<ReasonCode, string>> = {
  'near-empty': 'near-empty',
  small: 'too small to measure well',
  'outside-picture': 'part outside the picture',
  'lower-wall-shadow': 'lower wall hidden by bone shadow',
  'wall-shadow': 'part of the wall hidden by shadow',
  'faint-wall': 'wall too faint in places',
  'planes-disagree': 'planes disagree, perhaps moved while measuring',
  'more-than-one-region': 'more than one fluid region, perhaps a cyst or free fluid',
  'off-centre': 'off-centre',
  'perhaps-free-fluid': 'most of it lies towards the head, perhaps free fluid or a cyst',
  'two-planes-only': 'two planes only, the shape between them is assumed',
  irregular: 'irregular fluid region, perhaps free fluid or a cyst and not the bladder',
  'calipers-disagree': 'the diameters that stand with the images give another volume',
  'layout-by-hand': 'scale or layout given by hand',
  'nothing-dark': 'no fluid region found',
  'low-contrast': 'fluid and tissue hardly differ in grey',
};

export const reason = (code: ReasonCode): Reason => ({ code, words: words[code] });
