// What stands in, in the record, for what a ward log leaves unsaid; both directions of the mapping use it.
export const madeOnTyped = 'ward log';
export const madeOnDevice = 'ward log, by device';

/** Where a void went that was not measured; the record has no field for it. */
export const placeNotes = { shower: 'In the shower.', pad: 'Into a pad, not weighed.' } as const;

/** The person who stands for somebody whom the log does not name. */
export function unnamedAuthor(ward: string): string {
  return `${ward}-unnamed`;
}

/** Bounds for a pad that was only described, mL. S-made-void-sizes */
export const padMl: Readonly<Record<'small' | 'medium' | 'large', readonly [number, number]>> = {
  small: [10, 80],
  medium: [60, 200],
  large: [180, 450],
};
