/** Parts of a replay, and how far the bar stands at the end of each. */
export const partEnds = { past: 0.2, hours: 0.3, madeUp: 1 } as const;

export const partWords = (share: number): string =>
  share < partEnds.past
    ? 'Going over the past'
    : share < partEnds.hours
      ? 'Rebuilding the hours over the limit'
      : 'Running made-up wards';
