import { isRefusal, refuse, type Refusal } from '@ebbline/core/quantity';
import { compileChain, type CompiledTable } from './compile-table.ts';
import { dictionary, isAllowed, type AgeBand, type InputName } from './dictionary.ts';
import type { Advice } from './advice.ts';
import type { DmnModel } from './model.ts';

/** A protocol ready to answer: plain data. */
export interface CompiledProtocol {
  readonly id: string;
  readonly version: number;
  readonly title: string;
  readonly approval: Advice['protocol']['approval'];
  /** Why a person may be watched under it. */
  readonly settings: readonly string[];
  readonly ageBands: readonly AgeBand[];
  /** What the protocol means by a low residual, so that the facts count by the same line. */
  readonly lowResidualBelowMl: number;
  readonly lowResidualsToEnd: number;
  /** In the order of need; the last one gives the advice. */
  readonly tables: readonly CompiledTable[];
}

/** The decision that gives the advice. */
export const adviceDecision = 'Advice';
const adviceOutputs = ['step', 'dueInMin', 'ownerRole', 'tell', 'why', 'record', 'sourceId'] as const;

const wrong = (found: string, allowed: string, where: string): Refusal =>
  refuse('protocol/not-a-protocol', {
    asked: 'Protocol',
    found,
    allowed,
    todo: 'Correct the file in a DMN editor.',
    where,
  });

/**
 * From a DMN file to a protocol that answers at once: compiled tables, inputs that the dictionary knows, one
 * decision named "Advice" with the outputs that an answer needs. A file cannot approve itself: what comes out
 * is always "example, not approved" until a person signs it elsewhere.
 *
 * Errors    protocol/not-compilable · protocol/not-a-protocol
 */
export function compileProtocol(model: DmnModel): CompiledProtocol | Refusal {
  const about = model.protocol;
  if (!about)
    return wrong(
      'no ebbline:protocol element',
      'a file that says its version, settings and age bands',
      model.name,
    );
  const tables = compileChain(model, adviceDecision);
  if (isRefusal(tables)) return tables;
  const answered = new Set<string>();
  for (const table of tables) {
    for (const [column, name] of table.inputs.entries()) {
      if (answered.has(name)) continue;
      if (!Object.hasOwn(dictionary, name))
        return wrong(`the input ${name}`, Object.keys(dictionary).join(', '), table.decision);
      const trouble = cellTrouble(table, column, name as InputName);
      if (trouble) return trouble;
    }
    answered.add(table.decision);
  }
  const outputs = tables.at(-1)?.outputs ?? [];
  const missing = adviceOutputs.find((name) => !outputs.includes(name));
  if (missing !== undefined) return wrong(`no output ${missing}`, adviceOutputs.join(', '), adviceDecision);
  const ageBands = (about['ageBands'] ?? '')
    .split(/\s+/)
    .filter((band) => isAllowed('ageBand', band)) as AgeBand[];
  const settings = (about['settings'] ?? '').split(/\s+/).filter((setting) => isAllowed('setting', setting));
  const version = Number(about['version']);
  const lowResidualBelowMl = Number(about['lowResidualBelowMl']);
  const lowResidualsToEnd = Number(about['lowResidualsToEnd']);
  if (ageBands.length === 0) return wrong('no age bands', 'child, adult, over-75', 'ageBands');
  if (settings.length === 0)
    return wrong('no settings', 'one or more settings of the dictionary', 'settings');
  if (!Number.isInteger(version) || version < 1)
    return wrong('no version', 'a whole number from 1', 'version');
  if (!(lowResidualBelowMl > 0) || !(lowResidualsToEnd > 0))
    return wrong('no low residual', 'mL and count above 0', 'lowResidualBelowMl');
  return {
    id: model.id,
    version,
    title: model.name,
    approval: 'example-not-approved',
    settings,
    ageBands,
    lowResidualBelowMl,
    lowResidualsToEnd,
    tables,
  };
}

/** A cell that tests a value which its input can never have is a slip of the pen. */
function cellTrouble(table: CompiledTable, column: number, name: InputName): Refusal | undefined {
  for (const row of table.rows) {
    const test = row.tests[column];
    if (test === undefined || test === 0) continue;
    const values = 'not' in test ? test.not : (test.in ?? []);
    const stray = values.find((value) => value !== null && !isAllowed(name, value));
    if (stray !== undefined)
      return wrong(`${JSON.stringify(stray)} for ${name}`, 'a value of the dictionary', row.id);
    if (!('not' in test) && test.ranges && dictionary[name].kind !== 'number')
      return wrong(`a range of numbers for ${name}`, 'a value of the dictionary', row.id);
  }
  return undefined;
}
