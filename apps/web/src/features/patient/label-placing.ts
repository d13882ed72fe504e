/**
 * Where labels stand on the wide chart: beside what they name, off the band, never on one another. A label that
 * finds no place is left out; the rows and the table under the chart carry it.
 *
 * Method   greedy, in order of weight; each label tries places around its point, nearest first, and takes the one
 *          with the least cost. Widths are reckoned from the number of signs.
 * Units    px
 */
export interface Box {
  readonly x: number;
  readonly y: number;
  readonly width: number;
  readonly height: number;
}

export interface LabelWish {
  readonly id: string;
  /** The point that it names. */
  readonly x: number;
  readonly y: number;
  readonly lines: readonly {
    readonly text: string;
    readonly size: number;
    readonly strong?: boolean;
    readonly deep?: boolean;
    readonly serif?: boolean;
  }[];
  /** Placed first when higher. */
  readonly weight: number;
  /** Only beside these sides; all when not given. */
  readonly sides?: readonly ('right' | 'left' | 'above' | 'below')[];
}

export interface PlacedLabel extends Box {
  readonly wish: LabelWish;
  /** Where a thin line leads from, when the label stands away from its point. */
  readonly leader: boolean;
  readonly align: 'start' | 'end' | 'middle';
}

const signWidth = 0.545; // S-patient-sign-width: mean advance of the page's sans, share of the size
const strongWidth = 0.59; // S-patient-sign-width

export const textWidth = (text: string, size: number, strong = false): number =>
  text.length * size * (strong ? strongWidth : signWidth);

export const overlap = (a: Box, b: Box): number =>
  Math.max(0, Math.min(a.x + a.width, b.x + b.width) - Math.max(a.x, b.x)) *
  Math.max(0, Math.min(a.y + a.height, b.y + b.height) - Math.max(a.y, b.y));

const lineGap = 3;
export const sizeOf = (wish: LabelWish): { readonly width: number; readonly height: number } => ({
  width: Math.max(...wish.lines.map((line) => textWidth(line.text, line.size, line.strong))) + 4,
  height: wish.lines.reduce((sum, line) => sum + line.size + lineGap, 0),
});

type Side = 'right' | 'left' | 'above' | 'below';
const distances = [9, 20, 34, 52, 76, 104, 136, 172];

function placesOf(
  wish: LabelWish,
): readonly { readonly box: Box; readonly align: PlacedLabel['align']; readonly away: number }[] {
  const { width, height } = sizeOf(wish);
  const places: { box: Box; align: PlacedLabel['align']; away: number }[] = [];
  const sides: readonly Side[] = wish.sides ?? ['right', 'left', 'above', 'below'];
  for (const away of distances) {
    for (const side of sides) {
      const slides = side === 'right' || side === 'left' ? [-0.5, -0.9, -0.1, -1.3, 0.3] : [-0.5, -1, 0];
      for (const slide of slides) {
        if (side === 'right')
          places.push({
            box: { x: wish.x + away, y: wish.y + slide * height, width, height },
            align: 'start',
            away,
          });
        if (side === 'left')
          places.push({
            box: { x: wish.x - away - width, y: wish.y + slide * height, width, height },
            align: 'end',
            away,
          });
        if (side === 'above')
          places.push({
            box: { x: wish.x + slide * width, y: wish.y - away - height, width, height },
            align: slide === -0.5 ? 'middle' : slide === 0 ? 'start' : 'end',
            away,
          });
        if (side === 'below')
          places.push({
            box: { x: wish.x + slide * width, y: wish.y + away, width, height },
            align: slide === -0.5 ? 'middle' : slide === 0 ? 'start' : 'end',
            away,
          });
      }
    }
  }
  return places;
}

/**
 * @param avoid   boxes that no label may touch (marks, the flag of now)
 * @param softly  cost of a box for what is better left free (the band, the limit line), 0 to 1
 */
export function placeLabels(
  wishes: readonly LabelWish[],
  bounds: Box,
  avoid: readonly Box[],
  softly: (box: Box) => number,
): readonly PlacedLabel[] {
  const placed: PlacedLabel[] = [];
  for (const wish of wishes.toSorted((a, b) => b.weight - a.weight)) {
    let best: PlacedLabel | undefined;
    let least = Number.POSITIVE_INFINITY;
    for (const { box, align, away } of placesOf(wish)) {
      if (
        box.x < bounds.x ||
        box.y < bounds.y ||
        box.x + box.width > bounds.x + bounds.width ||
        box.y + box.height > bounds.y + bounds.height
      )
        continue;
      const roomy = { x: box.x - 3, y: box.y - 2, width: box.width + 6, height: box.height + 4 };
      if (placed.some((other) => overlap(roomy, other) > 0)) continue;
      if (avoid.some((other) => overlap(box, other) > 0)) continue;
      const cost = softly(box) * 150 + away;
      if (cost < least) {
        least = cost;
        best = { ...box, wish, align, leader: away > 24 };
      }
    }
    if (best) placed.push(best);
  }
  return placed;
}

/** Labels in a column beside the narrow chart: each as near to its height as it can, none on another. */
export function stackLabels(wishes: readonly LabelWish[], column: Box): readonly PlacedLabel[] {
  const fitting: LabelWish[] = [];
  let used = 0;
  for (const wish of wishes.toSorted((a, b) => b.weight - a.weight)) {
    const { height } = sizeOf(wish);
    if (used + height + 4 > column.height) continue;
    used += height + 4;
    fitting.push(wish);
  }
  const rows = fitting
    .toSorted((a, b) => a.y - b.y)
    .map((wish) => ({ wish, height: sizeOf(wish).height, y: wish.y - sizeOf(wish).height / 2 }));
  let floor = column.y;
  for (const row of rows) {
    row.y = Math.max(row.y, floor);
    floor = row.y + row.height + 4;
  }
  let ceiling = column.y + column.height;
  for (const row of rows.toReversed()) {
    row.y = Math.min(row.y, ceiling - row.height);
    ceiling = row.y - 4;
  }
  return rows.map(({ wish, height, y }) => ({
    wish,
    x: column.x,
    y,
    width: Math.min(column.width, sizeOf(wish).width),
    height,
    align: 'start',
    leader: Math.abs(y + height / 2 - wish.y) > 8,
  }));
}
