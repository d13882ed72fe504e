/** How the body is held: turned about the line from head to feet, tipped towards the viewer, and how large. */
export interface Held {
  /** Degrees, −180 to 180; positive shows more of the picture's left. */
  readonly turnDeg: number;
  /** Degrees, −90 to 90; positive shows more of the head's side. */
  readonly tipDeg: number;
  readonly larger: number;
}

/** From the front, a little from the side and from above, so that all three extents show. */
export const heldAtFirst: Held = { turnDeg: 30, tipDeg: 20, larger: 1 };

const within = (value: number, least: number, most: number): number => Math.min(most, Math.max(least, value));

/** A turn beyond half a round goes on from the other side; a tip stops upright. */
export function turned(held: Held, byDeg: number, tipByDeg: number): Held {
  const whole = held.turnDeg + byDeg;
  return {
    ...held,
    turnDeg: whole - 360 * Math.floor((whole + 180) / 360),
    tipDeg: within(held.tipDeg + tipByDeg, -90, 90),
  };
}

export const enlarged = (held: Held, factor: number): Held => ({
  ...held,
  larger: within(held.larger * factor, 0.5, 4),
});

export const stepDeg = 15;
export const stepLarger = 1.25;

/** What a key of the keyboard does to it; undefined for a key that means nothing here. */
export function heldAfterKey(held: Held, key: string): Held | undefined {
  switch (key) {
    case 'ArrowLeft':
      return turned(held, -stepDeg, 0);
    case 'ArrowRight':
      return turned(held, stepDeg, 0);
    case 'ArrowUp':
      return turned(held, 0, -stepDeg);
    case 'ArrowDown':
      return turned(held, 0, stepDeg);
    case '+':
    case '=':
      return enlarged(held, stepLarger);
    case '-':
    case '−':
      return enlarged(held, 1 / stepLarger);
    case '0':
    case 'Home':
      return heldAtFirst;
    default:
      return undefined;
  }
}

/** The longest bar of a round length that takes at most so many pixels. */
export function scaleBar(mmPerPx: number, mostPx: number): { readonly mm: number; readonly px: number } {
  const lengths = [100, 50, 20, 10, 5, 2];
  const mm = lengths.find((length) => length / mmPerPx <= mostPx) ?? 1;
  return { mm, px: mm / mmPerPx };
}

/** In words: which way it is held. */
export function heldWords({ turnDeg, tipDeg }: Held): string {
  const round = (value: number): number => Math.round(Math.abs(value));
  const turn =
    round(turnDeg) === 0
      ? 'seen from the front'
      : round(turnDeg) === 180
        ? 'seen from the back'
        : `turned ${round(turnDeg)}° to the ${turnDeg > 0 ? 'right' : 'left'}`;
  const tip =
    round(tipDeg) === 0 ? '' : `, tipped ${round(tipDeg)}° ${tipDeg > 0 ? 'towards' : 'away from'} you`;
  return `${turn}${tip}`;
}
