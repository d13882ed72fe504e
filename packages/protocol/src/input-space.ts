import { testHolds, type CompiledTest, type Scalar } from './compile-table.ts';
import { dictionary, type InputName } from './dictionary.ts';

/**
 * Everything that can be put to a set of tables, cut into the pieces that their cells can tell apart: for each
 * input a list of pieces, each with one value that stands for it. Of a number the pieces are the named numbers,
 * the open stretches between neighbours, and "missing".
 */
export interface InputSpace {
  readonly names: readonly string[];
  /** Per input, the value that stands for each piece. */
  readonly values: readonly (readonly Scalar[])[];
  /** Per input, the first word of its part of a box; one more at the end. */
  readonly starts: readonly number[];
}

/** Per input a set of pieces, one bit each; a patient is inside when each of its values is. */
export type Box = Uint32Array;

export function inputSpace(names: readonly string[], values: readonly (readonly Scalar[])[]): InputSpace {
  const starts = [0];
  for (const list of values) starts.push((starts.at(-1) ?? 0) + Math.max(1, Math.ceil(list.length / 32)));
  return { names, values, starts };
}

/** The values that an input of the dictionary can take, one for each piece that the tests cut it into. */
export function piecesOf(
  name: string,
  tests: readonly CompiledTest[],
  /** Where between two named numbers the value lies that stands for the stretch. */
  between = 0.5,
): readonly Scalar[] {
  const entry = Object.hasOwn(dictionary, name) ? dictionary[name as InputName] : undefined;
  if (!entry) return [];
  const missing: readonly Scalar[] = entry.optional ? [null] : [];
  if (entry.kind === 'flag') return [false, true, ...missing];
  if (entry.kind === 'choice') return [...(entry.options ?? []), ...missing];
  const { min = 0, max = 0 } = entry;
  const ends = new Set<number>([min, max]);
  for (const test of tests) {
    if (test === 0 || 'not' in test) continue;
    for (const value of test.in ?? []) if (typeof value === 'number') ends.add(value);
    for (const range of test.ranges ?? [])
      for (const end of [range.from, range.to]) if (end !== undefined) ends.add(end);
  }
  const sorted = [...ends].filter((end) => end >= min && end <= max).sort((a, b) => a - b);
  const pieces: Scalar[] = [];
  for (const [index, end] of sorted.entries()) {
    const next = sorted[index + 1];
    pieces.push(end);
    if (next !== undefined) pieces.push(end + (next - end) * between);
  }
  return [...pieces, ...missing];
}

/** The box of all pieces for which `inside` holds. */
export function boxWhere(
  space: InputSpace,
  inside: (input: number, value: Scalar, piece: number) => boolean,
): Box {
  const box = new Uint32Array(space.starts.at(-1) ?? 0);
  for (const [input, list] of space.values.entries()) {
    const start = space.starts[input] ?? 0;
    for (const [piece, value] of list.entries()) {
      if (!inside(input, value, piece)) continue;
      const word = start + (piece >>> 5);
      box[word] = (box[word] ?? 0) | (1 << (piece & 31));
    }
  }
  return box;
}

export const everything = (space: InputSpace): Box => boxWhere(space, () => true);

/** The box of a row's tests, each beside the input it asks for; an input outside the space is left alone. */
export function boxOfTests(
  space: InputSpace,
  inputs: readonly string[],
  tests: readonly CompiledTest[],
): Box {
  const asked = space.names.map((name) =>
    inputs.flatMap((one, column) => (one === name ? [tests[column] ?? 0] : [])),
  );
  return boxWhere(space, (input, value) => (asked[input] ?? []).every((test) => testHolds(test, value)));
}

/** What two boxes share; undefined when nothing. */
export function shared(space: InputSpace, a: Box, b: Box): Box | undefined {
  if (!meet(space, a, b)) return undefined;
  const both = new Uint32Array(a.length);
  for (let word = 0; word < a.length; word += 1) both[word] = (a[word] ?? 0) & (b[word] ?? 0);
  return both;
}

export function meet(space: InputSpace, a: Box, b: Box): boolean {
  const { starts } = space;
  for (let input = 1; input < starts.length; input += 1) {
    let any = 0;
    for (let word = starts[input - 1] ?? 0; word < (starts[input] ?? 0); word += 1)
      any |= (a[word] ?? 0) & (b[word] ?? 0);
    if (any === 0) return false;
  }
  return true;
}

/** True when the first box holds the whole second one. */
export function holds(outer: Box, inner: Box): boolean {
  for (let word = 0; word < inner.length; word += 1)
    if (((inner[word] ?? 0) & ~(outer[word] ?? 0)) !== 0) return false;
  return true;
}

/** True when, for one input, the first box holds all pieces of the second. */
export function holdsInput(space: InputSpace, outer: Box, inner: Box, input: number): boolean {
  for (let word = space.starts[input] ?? 0; word < (space.starts[input + 1] ?? 0); word += 1)
    if (((inner[word] ?? 0) & ~(outer[word] ?? 0)) !== 0) return false;
  return true;
}

/** The box with one input's pieces taken from, or without those of, another box. */
export function narrowed(space: InputSpace, box: Box, by: Box, input: number, without: boolean): Box {
  const next = box.slice();
  for (let word = space.starts[input] ?? 0; word < (space.starts[input + 1] ?? 0); word += 1)
    next[word] = (box[word] ?? 0) & (without ? ~(by[word] ?? 0) : (by[word] ?? 0));
  return next;
}

/** The box with one piece of an input, and no other of that input. */
export function onlyPiece(space: InputSpace, box: Box, input: number, piece: number): Box {
  const next = box.slice();
  const start = space.starts[input] ?? 0;
  next.fill(0, start, space.starts[input + 1]);
  next[start + (piece >>> 5)] = 1 << (piece & 31);
  return next;
}

function bitCount(word: number): number {
  let left = word - ((word >>> 1) & 0x55555555);
  left = (left & 0x33333333) + ((left >>> 2) & 0x33333333);
  return Math.imul((left + (left >>> 4)) & 0x0f0f0f0f, 0x01010101) >>> 24;
}

/** How many kinds of patient two boxes share: the product over inputs, exactly. */
export function sharedCount(space: InputSpace, a: Box, b: Box): bigint {
  let exact = 1n;
  let small = 1;
  for (let input = 1; input < space.starts.length; input += 1) {
    let pieces = 0;
    for (let word = space.starts[input - 1] ?? 0; word < (space.starts[input] ?? 0); word += 1)
      pieces += bitCount((a[word] ?? 0) & (b[word] ?? 0));
    if (pieces === 0) return 0n;
    small *= pieces;
    // Small products stay plain numbers: a big one is taken over into the exact part before it could round.
    if (small > 1e9) {
      exact *= BigInt(small);
      small = 1;
    }
  }
  return exact * BigInt(small);
}

export const countOf = (space: InputSpace, box: Box): bigint => sharedCount(space, box, box);

/** The pieces of one input that a box holds, lowest first. */
export function piecesIn(space: InputSpace, box: Box, input: number): readonly number[] {
  const start = space.starts[input] ?? 0;
  return (space.values[input] ?? []).flatMap((_value, piece) =>
    ((box[start + (piece >>> 5)] ?? 0) & (1 << (piece & 31))) === 0 ? [] : [piece],
  );
}

/** One input's part of a box as a cell that a person can read and a table can hold: `-`, `"a", "b"`, `[0..400), null`. */
export function cellOf(space: InputSpace, box: Box, input: number): string {
  const values = space.values[input] ?? [];
  const pieces = piecesIn(space, box, input);
  if (pieces.length === values.length) return '-';
  const words: string[] = [];
  const numbers = values.filter((value) => typeof value === 'number').length;
  for (let index = 0; index < pieces.length; index += 1) {
    const from = pieces[index] ?? 0;
    if (from >= numbers) {
      words.push(JSON.stringify(values[from] ?? null));
      continue;
    }
    while (pieces[index + 1] === (pieces[index] ?? 0) + 1 && (pieces[index + 1] ?? 0) < numbers) index += 1;
    words.push(stretch(values, from, pieces[index] ?? from));
  }
  return words.join(', ');
}

/** Numbers stand at even places, the stretches between them at odd ones. */
function stretch(values: readonly Scalar[], from: number, to: number): string {
  if (from === to && from % 2 === 0) return String(values[from]);
  const low = from % 2 === 0 ? `[${String(values[from])}` : `(${String(values[from - 1])}`;
  const high = to % 2 === 0 ? `${String(values[to])}]` : `${String(values[to + 1])})`;
  return `${low}..${high}`;
}
