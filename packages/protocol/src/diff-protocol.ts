import type { DmnDecision, DmnModel, DmnRow, DmnTable } from './model.ts';

/** One difference between two versions of a protocol, in words. */
export interface Difference {
  readonly kind: 'about' | 'decision' | 'column' | 'row';
  /** The decision it stands in; missing for the protocol as a whole. */
  readonly decision?: string;
  readonly row?: string;
  readonly sentence: string;
}

/**
 * What changed from one version of a protocol to the next: rows by their ids, cells and answers by the names of
 * their columns. The same content in another layout of the file is no difference; another order of rows is one
 * only where the first row that fits answers.
 */
export function diffModels(before: DmnModel, after: DmnModel): readonly Difference[] {
  const found: Difference[] = [];
  const about = (name: string, old: string | undefined, now: string | undefined): void => {
    if (old !== now) found.push({ kind: 'about', sentence: `${name}: ${said(old)} is now ${said(now)}.` });
  };
  about('Title', before.name, after.name);
  const names = new Set([...Object.keys(before.protocol ?? {}), ...Object.keys(after.protocol ?? {})]);
  for (const name of names) about(name, before.protocol?.[name], after.protocol?.[name]);
  for (const decision of before.decisions)
    if (!named(after, decision.name))
      found.push({
        kind: 'decision',
        decision: decision.name,
        sentence: `The table "${decision.name}" was taken away.`,
      });
  for (const decision of after.decisions) {
    const old = named(before, decision.name);
    if (!old)
      found.push({
        kind: 'decision',
        decision: decision.name,
        sentence: `The table "${decision.name}" is new.`,
      });
    else found.push(...diffDecision(old, decision));
  }
  return found;
}

const named = (model: DmnModel, name: string): DmnDecision | undefined =>
  model.decisions.find((one) => one.name === name);

/** A cell or answer as written; a dash and nothing at all are both "anything". */
const said = (text: string | undefined): string =>
  text === undefined || text === '' ? 'nothing' : text === '-' ? 'anything' : text;

function diffDecision(before: DmnDecision, after: DmnDecision): readonly Difference[] {
  const decision = after.name;
  const make = (kind: Difference['kind'], sentence: string, row?: string): Difference => ({
    kind,
    decision,
    sentence,
    ...(row === undefined ? {} : { row }),
  });
  const [old, now] = [before.logic, after.logic];
  if (old.kind !== 'table' || now.kind !== 'table') {
    return JSON.stringify(old) === JSON.stringify(now)
      ? []
      : [make('decision', `"${decision}" is worked out in another way.`)];
  }
  const found: Difference[] = [];
  if (old.hitPolicy !== now.hitPolicy)
    found.push(make('decision', `"${decision}": hit policy ${old.hitPolicy} is now ${now.hitPolicy}.`));
  const [oldCells, nowCells] = [columnsOf(old), columnsOf(now)];
  for (const name of oldCells.filter((one) => !nowCells.includes(one)))
    found.push(make('column', `"${decision}" no longer has the column ${name}.`));
  for (const name of nowCells.filter((one) => !oldCells.includes(one)))
    found.push(make('column', `"${decision}" has the new column ${name}.`));
  for (const row of old.rows)
    if (!now.rows.some((one) => one.id === row.id))
      found.push(make('row', `Row ${row.id} was taken away: ${rowInWords(old, row)}.`, row.id));
  for (const row of now.rows) {
    const was = old.rows.find((one) => one.id === row.id);
    if (!was) {
      found.push(make('row', `Row ${row.id} is new: ${rowInWords(now, row)}.`, row.id));
      continue;
    }
    const [oldTexts, nowTexts] = [textsOf(old, was), textsOf(now, row)];
    for (const name of new Set([...oldTexts.keys(), ...nowTexts.keys()])) {
      const [one, other] = [oldTexts.get(name), nowTexts.get(name)];
      const isNew = !oldCells.includes(name) || !nowCells.includes(name);
      if (one === other || (isNew && said(one ?? '-') === said(other ?? '-'))) continue;
      found.push(make('row', `Row ${row.id}: ${name} ${said(one)} is now ${said(other)}.`, row.id));
    }
  }
  const kept = (rows: readonly DmnRow[], others: readonly DmnRow[]): string =>
    rows.flatMap((row) => (others.some((one) => one.id === row.id) ? [row.id] : [])).join(' ');
  if (now.hitPolicy === 'FIRST' && kept(old.rows, now.rows) !== kept(now.rows, old.rows))
    found.push(
      make('decision', `"${decision}": the rows stand in another order, and the first that fits answers.`),
    );
  return found;
}

const inputNameOf = (table: DmnTable, column: number): string => table.inputs[column]?.expression ?? '';
const outputNameOf = (table: DmnTable, column: number): string =>
  `answer ${table.outputs[column]?.name ?? ''}`.trim();
const noteNameOf = (table: DmnTable, column: number): string =>
  `note ${table.noteNames?.[column] ?? ''}`.trim();

function columnsOf(table: DmnTable): readonly string[] {
  return [
    ...table.inputs.map((_clause, column) => inputNameOf(table, column)),
    ...table.outputs.map((_clause, column) => outputNameOf(table, column)),
    ...(table.noteNames ?? []).map((_name, column) => noteNameOf(table, column)),
  ];
}

function textsOf(table: DmnTable, row: DmnRow): ReadonlyMap<string, string> {
  return new Map([
    ...row.tests.map((text, column) => [inputNameOf(table, column), text] as const),
    ...row.values.map((text, column) => [outputNameOf(table, column), text] as const),
    ...(row.notes ?? []).map((text, column) => [noteNameOf(table, column), text] as const),
    ...(row.about === undefined ? [] : [['words', row.about] as const]),
  ]);
}

/** `if trigger "reading" and volumeMl < 250, then step "look-again", dueInMin 90` */
function rowInWords(table: DmnTable, row: DmnRow): string {
  const asked = row.tests.flatMap((text, column) =>
    text === '-' || text === '' ? [] : [`${inputNameOf(table, column)} ${text}`],
  );
  const given = row.values.flatMap((text, column) =>
    text === '' || text === 'null' ? [] : [`${table.outputs[column]?.name ?? 'the answer'} ${text}`],
  );
  return `if ${asked.join(' and ') || 'nothing else'}, then ${given.join(', ') || 'nothing'}`;
}
