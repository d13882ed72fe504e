import { gentleness, lookSteps, type Step } from './advice.ts';
import type { Budget } from './box-cover.ts';
import type { InputName } from './dictionary.ts';
import { onlyPiece, piecesIn, shared, type Box, type InputSpace } from './input-space.ts';
import type { Scalar } from './compile-table.ts';

/** Patients who get one row's answer. */
export interface Leaf {
  readonly rowId: string;
  readonly step: Step;
  readonly dueInMin: number;
  readonly box: Box;
}

/** The milder patients, the same ones when one thing got worse, and the law in words. */
export interface OrderFault {
  readonly milder: Leaf;
  readonly worse: Leaf;
  readonly worseIn: InputName;
  readonly law: string;
}

type Worse = (before: Scalar, after: Scalar) => boolean;
const larger: Worse = (before, after) =>
  typeof before === 'number' && typeof after === 'number' && after > before;
const rank = ['no', 'possible', 'yes'] as const;

/** What makes a patient worse while all else stays the same, and how the law says it. Lateness counts as worse. */
const worseBy: Readonly<Partial<Record<InputName, { readonly is: Worse; readonly words: string }>>> = {
  volumeMl: { is: larger, words: 'a larger volume' },
  residualMl: { is: larger, words: 'a larger residual' },
  discomfort: { is: (before, after) => before === false && after === true, words: 'discomfort' },
  redFlag: { is: (before, after) => before === 'none' && after !== 'none', words: 'a red flag' },
  overLimit: {
    is: (before, after) => rank.indexOf(after as 'no') > rank.indexOf(before as 'no'),
    words: 'standing nearer to the limit',
  },
  residualLate: {
    is: (before, after) => before === false && after === true,
    words: 'a residual that was read late',
  },
  sinceVoidMin: { is: larger, words: 'a longer time since the last void' },
  sinceEmptiedMin: { is: larger, words: 'a longer time since the bladder was emptied' },
  sinceCatheterOutMin: { is: larger, words: 'a longer time since the catheter came out' },
};

/**
 * Every two rows of which a patient, worse in one input and the same in all others, gets the gentler step or the
 * later look. Exact: two boxes are compared, not patients.
 *
 * Source    order of steps (S-protocol-gentleness)
 */
export function worseIsGentler(
  space: InputSpace,
  leaves: readonly Leaf[],
  spend: Budget,
): { readonly faults: readonly OrderFault[]; readonly whole: boolean } {
  const found = new Map<string, OrderFault>();
  const inputs = (Object.keys(worseBy) as InputName[]).map((name) => space.names.indexOf(name));
  for (const milder of leaves)
    for (const worse of leaves) {
      if (milder === worse || !gentlerOrLater(milder, worse)) continue;
      const apart = apartInOne(space, milder.box, worse.box);
      spend.left -= 0.02;
      if (spend.left < 0) return { faults: [...found.values()], whole: false };
      if (apart === undefined) continue;
      for (const input of apart < 0 ? inputs : [apart]) {
        const name = space.names[input] as InputName;
        const key = `${milder.rowId} ${worse.rowId} ${name}`;
        if (!inputs.includes(input) || found.has(key)) continue;
        const pair = worsen(space, milder.box, worse.box, input);
        if (pair)
          found.set(key, {
            milder: { ...milder, box: pair.before },
            worse: { ...worse, box: pair.after },
            worseIn: name,
            law: `${worseBy[name]?.words ?? name} never gives a gentler step or a later look [worse-never-gentler]`,
          });
      }
    }
  return { faults: [...found.values()], whole: true };
}

function gentlerOrLater(milder: Leaf, worse: Leaf): boolean {
  return (
    gentleness[worse.step] < gentleness[milder.step] ||
    (lookSteps.has(milder.step) && lookSteps.has(worse.step) && worse.dueInMin > milder.dueInMin)
  );
}

/** The one input in which two boxes share nothing; -1 when they meet everywhere; undefined when more than one. */
function apartInOne(space: InputSpace, a: Box, b: Box): number | undefined {
  let apart = -1;
  for (let input = 0; input < space.names.length; input += 1) {
    let any = 0;
    for (let word = space.starts[input] ?? 0; word < (space.starts[input + 1] ?? 0); word += 1)
      any |= (a[word] ?? 0) & (b[word] ?? 0);
    if (any !== 0) continue;
    if (apart >= 0) return undefined;
    apart = input;
  }
  return apart;
}

/** A value for before and a worse one for after, everything else the same. */
function worsen(
  space: InputSpace,
  milder: Box,
  worse: Box,
  input: number,
): { readonly before: Box; readonly after: Box } | undefined {
  const isWorse = worseBy[space.names[input] as InputName];
  const values = space.values[input] ?? [];
  for (const before of piecesIn(space, milder, input))
    for (const after of piecesIn(space, worse, input)) {
      if (!isWorse?.is(values[before] ?? null, values[after] ?? null)) continue;
      const same = shared(space, freed(space, milder, input), freed(space, worse, input));
      return same
        ? { before: onlyPiece(space, same, input, before), after: onlyPiece(space, same, input, after) }
        : undefined;
    }
  return undefined;
}

/** The box with every piece of one input. */
function freed(space: InputSpace, box: Box, input: number): Box {
  const next = box.slice();
  const values = space.values[input] ?? [];
  const start = space.starts[input] ?? 0;
  for (let piece = 0; piece < values.length; piece += 1)
    next[start + (piece >>> 5)] = (next[start + (piece >>> 5)] ?? 0) | (1 << (piece & 31));
  return next;
}
