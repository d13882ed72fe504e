/** For tests and timings: seeded tables, sound by construction or not, and ways to spoil one. */
import { isRefusal, type RandomSource } from '@ebbline/core/quantity';
import { compileTest, type CompiledTable, type CompiledTest, type Scalar } from '../compile-table.ts';
import { dictionary, type InputName } from '../dictionary.ts';

export const cell = (source: string): CompiledTest => {
  const test = compileTest(source);
  if (isRefusal(test)) throw new Error(test.found);
  return test;
};

/** A table of cells as written. */
export function tableOf(
  inputs: readonly string[],
  cells: readonly (readonly string[])[],
  hitPolicy: 'UNIQUE' | 'FIRST' = 'UNIQUE',
): CompiledTable {
  return {
    decision: 'made up',
    hitPolicy,
    inputs,
    outputs: ['out'],
    rows: cells.map((row, index) => ({ id: `r${index + 1}`, tests: row.map(cell), values: [index] })),
  };
}

/** Twelve inputs of several kinds, for tables of the size of a large unit's. */
export const twelveInputs: readonly InputName[] = [
  'trigger',
  'volumeMl',
  'overLimit',
  'doNotDrain',
  'trust',
  'residualMl',
  'sinceEmptiedMin',
  'drainsSoFar',
  'catheterInPlace',
  'redFlag',
  'relation',
  'voidsSoFar',
];

interface Piece {
  readonly from?: number;
  readonly to?: number;
  readonly missing?: boolean;
  readonly words?: readonly Scalar[];
}

const asTest = (piece: Piece): CompiledTest =>
  piece.words
    ? { in: piece.words }
    : piece.missing
      ? { in: [null] }
      : {
          ranges: [
            {
              ...(piece.from === undefined ? {} : { from: piece.from, fromIn: true as const }),
              ...(piece.to === undefined ? {} : { to: piece.to }),
            },
          ],
        };

/**
 * A table that answers everybody once: everyone, cut again and again in two or three along an input. Each row
 * constrains at least `atLeast` inputs.
 */
export function soundTable(
  random: RandomSource,
  rowCount: number,
  inputs: readonly InputName[],
  atLeast: number,
): CompiledTable {
  let boxes: Map<InputName, Piece>[] = [new Map()];
  const ready = (box: Map<InputName, Piece>): boolean => box.size >= atLeast;
  for (let round = 0; boxes.length < rowCount || !boxes.every(ready); round += 1) {
    const open = boxes.filter((box) => !ready(box));
    const box = boxes.length < rowCount * 0.55 || open.length === 0 ? random.pick(boxes) : random.pick(open);
    const name = random.pick(inputs.filter((one) => ready(box) || !box.has(one)));
    const cuts = cutPiece(random, name, box.get(name));
    if (cuts.length < 2) continue;
    boxes = boxes.filter((one) => one !== box);
    for (const piece of cuts) boxes.push(new Map(box).set(name, piece));
    if (round > rowCount * 50) throw new Error('no such table');
  }
  return {
    decision: 'Advice',
    hitPolicy: 'UNIQUE',
    inputs,
    outputs: ['out'],
    rows: boxes.map((box, index) => ({
      id: `r${index + 1}`,
      tests: inputs.map((name) => {
        const piece = box.get(name);
        return piece ? asTest(piece) : 0;
      }),
      values: [index],
    })),
  };
}

function cutPiece(random: RandomSource, name: InputName, piece: Piece = {}): readonly Piece[] {
  const entry = dictionary[name];
  if (entry.kind !== 'number') {
    const words = piece.words ?? (entry.kind === 'flag' ? [true, false] : (entry.options ?? []));
    if (words.length < 2) return [piece];
    const at = 1 + random.below(words.length - 1);
    return [{ words: words.slice(0, at) }, { words: words.slice(at) }];
  }
  if (piece.missing === true) return [piece];
  const whole = piece.from === undefined && piece.to === undefined;
  const [low, high] = [piece.from ?? entry.min ?? 0, piece.to ?? Math.min(entry.max ?? 0, 1200)];
  const at = Math.round(low + (high - low) * (0.2 + 0.6 * random.next()));
  if (at <= low || at >= high) return [piece];
  const halves: Piece[] = [
    { ...piece, to: at },
    { ...piece, from: at },
  ];
  return whole && entry.optional ? [...halves, { missing: true }] : halves;
}

/** The table without one row's answer for a small part of those it is for: a gap one cell wide. */
export function withGap(random: RandomSource, table: CompiledTable): CompiledTable {
  const at = random.below(table.rows.length);
  const free = table.inputs.findIndex(
    (name, column) => table.rows[at]?.tests[column] === 0 && dictionary[name as InputName].kind === 'choice',
  );
  const options = dictionary[(table.inputs[free] ?? 'trigger') as InputName].options ?? [];
  return {
    ...table,
    rows: table.rows.flatMap((row, index) => {
      if (index !== at) return [row];
      if (free < 0) return [];
      return [
        {
          ...row,
          tests: row.tests.map((test, column) => (column === free ? { in: options.slice(1) } : test)),
        },
      ];
    }),
  };
}
