/**
 * For tests: the same questions as the proof asks, answered by trying every patient of a small made-up world, with
 * its own reading of cells and its own sentences of the laws. It shares no code with the proof.
 */
import type { CompiledTable, CompiledTest, Scalar } from '../compile-table.ts';

export type World = Readonly<Record<string, readonly Scalar[]>>;
export type Person = Readonly<Record<string, Scalar>>;

/** Every person of a world. */
export function everyone(world: World): readonly Person[] {
  let people: Person[] = [{}];
  for (const [name, values] of Object.entries(world))
    people = people.flatMap((person) => values.map((value) => ({ ...person, [name]: value })));
  return people;
}

export function fits(test: CompiledTest, value: Scalar): boolean {
  if (test === 0) return true;
  if ('not' in test) return test.not.every((one) => one !== value);
  for (const one of test.in ?? []) if (one === value) return true;
  for (const range of test.ranges ?? []) {
    if (typeof value !== 'number') continue;
    const { from = -Infinity, to = Infinity } = range;
    const above = value > from || (value === from && range.fromIn === true);
    const below = value < to || (value === to && range.toIn === true);
    if (above && below) return true;
  }
  return false;
}

/** The ids of the rows that fit, in order. */
export function rowsFor(table: CompiledTable, person: Person): readonly string[] {
  const ids: string[] = [];
  for (const row of table.rows) {
    let all = true;
    for (const [column, name] of table.inputs.entries())
      all &&= fits(row.tests[column] ?? 0, person[name] ?? null);
    if (all) ids.push(row.id);
  }
  return ids;
}

export const keyOf = (person: Person): string => JSON.stringify(Object.values(person));

export interface TableTruth {
  readonly gaps: ReadonlySet<string>;
  /** `a b` for each two rows that one person has both of. */
  readonly overlaps: ReadonlySet<string>;
  readonly idleRows: readonly string[];
}

export function tryTable(table: CompiledTable, people: readonly Person[]): TableTruth {
  const gaps = new Set<string>();
  const overlaps = new Set<string>();
  const answered = new Set<string>();
  for (const person of people) {
    const ids = rowsFor(table, person);
    const [first] = ids;
    if (first === undefined) gaps.add(keyOf(person));
    if (table.hitPolicy === 'FIRST') {
      if (first !== undefined) answered.add(first);
      continue;
    }
    for (const id of ids) answered.add(id);
    for (const [at, id] of ids.entries())
      for (const other of ids.slice(at + 1)) overlaps.add(`${id} ${other}`);
  }
  return { gaps, overlaps, idleRows: table.rows.map((row) => row.id).filter((id) => !answered.has(id)) };
}

const order: Readonly<Record<string, number>> = {
  'look-again': 1,
  'promote-voiding': 1,
  'measure-residual': 2,
  'drain-in-out': 3,
  'check-catheter': 3,
  'examine-now': 4,
  'call-clinician': 4,
  emergency: 5,
};
const looks = ['look-again', 'promote-voiding'];

/** The names of the laws that a step breaks for a person. */
export function brokenFor(person: Person, step: string, dueInMin: number): readonly string[] {
  const broken: string[] = [];
  if (person['overLimit'] === 'yes' && looks.includes(step)) broken.push('no-wait-over-limit');
  if (person['discomfort'] === true && ((order[step] ?? 0) < 4 || dueInMin > 15))
    broken.push('discomfort-is-examined');
  const flag = person['redFlag'];
  if (
    flag === 'dysreflexia-signs'
      ? step !== 'emergency' || dueInMin > 15
      : flag !== 'none' && (!['emergency', 'call-clinician'].includes(step) || dueInMin > 15)
  )
    broken.push('red-flag-reaches-person');
  if (step === 'drain-in-out') {
    if (person['doNotDrain'] !== 'none' || person['trust'] === 'unreliable') broken.push('do-not-drain');
    if (person['volumeMl'] === null) broken.push('drain-needs-reading');
  }
  if (person['trigger'] === 'time' && looks.includes(step) && dueInMin > 60) broken.push('due-look-is-done');
  if (person['catheterInPlace'] === true && [...looks, 'measure-residual', 'drain-in-out'].includes(step))
    broken.push('no-look-through-catheter');
  return broken;
}

/** True when the second answer is gentler than the first, or a later look. */
export function isLess(
  first: { readonly step: string; readonly dueInMin: number },
  second: { readonly step: string; readonly dueInMin: number },
): boolean {
  if ((order[second.step] ?? 0) < (order[first.step] ?? 0)) return true;
  return looks.includes(first.step) && looks.includes(second.step) && second.dueInMin > first.dueInMin;
}

/** The same person with one thing worse: each of the ways, with the name of the input. */
export function* worseThan(person: Person, world: World): Generator<{ name: string; person: Person }> {
  const overs = ['no', 'possible', 'yes'];
  for (const [name, values] of Object.entries(world)) {
    const now = person[name] ?? null;
    for (const value of values) {
      const worse =
        (name === 'volumeMl' && now !== null && value !== null && value > now) ||
        (name === 'residualLate' && now === false && value === true) ||
        (name === 'overLimit' && overs.indexOf(String(value)) > overs.indexOf(String(now))) ||
        (name === 'discomfort' && now === false && value === true) ||
        (name === 'redFlag' && now === 'none' && value !== 'none');
      if (worse) yield { name, person: { ...person, [name]: value } };
    }
  }
}
