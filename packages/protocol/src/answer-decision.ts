import { isRefusal, refuse, type Refusal } from '@ebbline/core/quantity';
import { dictionary } from './dictionary.ts';
import { meets, plainValue, valueOfType } from './feel-values.ts';
import { chooseHits } from './hit-policy.ts';
import type { DmnDecision, DmnModel, DmnTable } from './model.ts';

export interface DecisionAnswer {
  readonly decision: string;
  /** The answer as plain JSON: a value, or an object by output name when the table has several outputs. */
  readonly value: unknown;
  /** Ids of the rows of this decision that gave it; empty for an expression. */
  readonly rows: readonly string[];
}

interface Run {
  readonly model: DmnModel;
  readonly context: Readonly<Record<string, unknown>>;
  readonly done: Map<string, { readonly raw: unknown; readonly rows: readonly string[] }>;
  readonly open: Set<string>;
}

/**
 * Answers one decision of a model, after the decisions it needs.
 *
 * Domain    literal expressions; tables of hit policy UNIQUE, FIRST, ANY, PRIORITY, RULE ORDER, COLLECT without
 *           aggregation. A missing input is FEEL null.
 * Errors    protocol/no-such-decision · protocol/unknown-input · protocol/input-type · protocol/input-not-allowed ·
 *           protocol/outside-subset · protocol/needs-itself · protocol/expression · protocol/no-row ·
 *           protocol/two-rows · protocol/rows-differ
 * Source    the standard's hit policies (S-dmn)
 */
export function answerDecision(
  model: DmnModel,
  decisionName: string,
  input: Readonly<Record<string, unknown>>,
): DecisionAnswer | Refusal {
  const decision =
    model.decisions.find((one) => one.name === decisionName) ??
    model.decisions.find((one) => one.id === decisionName);
  if (!decision) {
    return refuse('protocol/no-such-decision', {
      asked: 'Decision',
      found: `"${decisionName.slice(0, 60)}"`,
      allowed: model.decisions.map((one) => `"${one.name}"`).join(', ') || 'no decision: this file has none',
      todo: 'Give the name of a decision of this file.',
    });
  }
  const context: Record<string, unknown> = {};
  for (const name of Object.keys(input)) {
    // A protocol may be asked with every input of the dictionary, also those that its rows leave alone.
    const spare = model.protocol !== undefined && Object.hasOwn(dictionary, name);
    if (!spare && !model.inputs.some((one) => one.name === name)) {
      return refuse('protocol/unknown-input', {
        asked: 'Input',
        found: `"${name.slice(0, 60)}"`,
        allowed: model.inputs.map((one) => `"${one.name}"`).join(', ') || 'no input',
        todo: 'Use one of these names; the unit stands in the name.',
      });
    }
  }
  for (const one of model.inputs) {
    const value = valueOfType(input[one.name], one.typeRef, model, one.name);
    if (isRefusal(value)) return value;
    context[one.name] = value;
  }
  const answer = run({ model, context, done: new Map(), open: new Set() }, decision);
  return isRefusal(answer)
    ? answer
    : { decision: decision.name, value: plainValue(answer.raw, decision.typeRef), rows: answer.rows };
}

function run(
  state: Run,
  decision: DmnDecision,
): { readonly raw: unknown; readonly rows: readonly string[] } | Refusal {
  const before = state.done.get(decision.id);
  if (before) return before;
  if (state.open.has(decision.id)) {
    return refuse('protocol/needs-itself', {
      asked: 'Decision',
      found: `"${decision.name}" in a circle of needs`,
      allowed: 'decisions that need only others',
      todo: 'Take one of the arrows out of the model.',
    });
  }
  state.open.add(decision.id);
  const context: Record<string, unknown> = { ...state.context };
  for (const id of decision.needsDecisions) {
    const needed = state.model.decisions.find((one) => one.id === id);
    if (!needed) {
      return refuse('protocol/outside-subset', {
        asked: 'Decision',
        found: `"${decision.name}" needs ${id}, which is not in this file`,
        allowed: 'a file that holds all its decisions',
        todo: 'Put the needed decision into the same file.',
      });
    }
    const answer = run(state, needed);
    if (isRefusal(answer)) return answer;
    context[needed.name] = answer.raw;
  }
  const answer = runLogic(state, decision, context);
  if (isRefusal(answer)) return answer;
  state.open.delete(decision.id);
  state.done.set(decision.id, answer);
  return answer;
}

function runLogic(
  state: Run,
  decision: DmnDecision,
  context: Readonly<Record<string, unknown>>,
): { raw: unknown; rows: readonly string[] } | Refusal {
  const { logic } = decision;
  if (logic.kind === 'outside') {
    return refuse('protocol/outside-subset', {
      asked: 'Decision',
      found: `"${decision.name}" is ${logic.what}`,
      allowed:
        'a FEEL expression, or a table of hit policy UNIQUE, FIRST, ANY, PRIORITY, RULE ORDER or COLLECT without aggregation',
      todo: 'Rewrite the decision as one of these.',
    });
  }
  try {
    return logic.kind === 'literal'
      ? { raw: state.model.feel.evaluate(logic.expression, context), rows: [] }
      : runTable(state.model, decision, logic, context);
  } catch {
    return refuse('protocol/expression', {
      asked: 'Decision',
      found: `an expression in "${decision.name}" that does not read as FEEL`,
      allowed: 'FEEL expressions and unary tests',
      todo: 'Correct the expression in a DMN editor.',
    });
  }
}

function runTable(
  model: DmnModel,
  decision: DmnDecision,
  table: DmnTable,
  context: Readonly<Record<string, unknown>>,
): { raw: unknown; rows: readonly string[] } | Refusal {
  const { feel } = model;
  const values: unknown[] = [];
  for (const clause of table.inputs) {
    const raw = feel.evaluate(clause.expression, context);
    const value =
      typeof raw === 'object' && raw !== null ? raw : valueOfType(raw, clause.typeRef, model, clause.label);
    if (isRefusal(value)) return value;
    if (clause.allowed !== undefined && value !== null && !meets(feel, clause.allowed, value)) {
      return refuse('protocol/input-not-allowed', {
        asked: 'Input',
        found: typeof value === 'object' ? 'another value' : String(value).slice(0, 60),
        allowed: clause.allowed,
        todo: 'Give one of the allowed values.',
        where: clause.label,
      });
    }
    values.push(value);
  }
  const hits = table.rows.filter((row) =>
    row.tests.every(
      (test, index) => test === '-' || test === '' || feel.unaryTest(test, values[index], context),
    ),
  );
  const outputsOf = (texts: readonly string[]): readonly unknown[] =>
    texts.map((text) => (text === '' ? null : feel.evaluate(text, context)));
  return chooseHits({
    decision: decision.name,
    table,
    hits: hits.map((row) => ({ id: row.id, values: outputsOf(row.values) })),
    priorities: table.outputs.map((output) =>
      listOf(model, output.values ?? allowedOf(model, output.typeRef ?? decision.typeRef)),
    ),
    otherwise: table.outputs.some((output) => output.otherwise !== undefined)
      ? outputsOf(table.outputs.map((output) => output.otherwise ?? ''))
      : undefined,
  });
}

const allowedOf = (model: DmnModel, typeRef: string | undefined): string | undefined =>
  model.types.find((type) => type.name === typeRef)?.allowed;

/** The values of a FEEL list written without brackets, in their order. */
function listOf(model: DmnModel, text: string | undefined): readonly unknown[] {
  if (text === undefined) return [];
  const list = model.feel.evaluate(`[${text}]`, {});
  return Array.isArray(list) ? list : [];
}
