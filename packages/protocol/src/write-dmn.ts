import { refuse, type Refusal } from '@ebbline/core/quantity';
import type { DmnDecision, DmnModel, DmnTable, DmnType } from './model.ts';

type Element = Record<string, unknown>;
type Make = (type: string, attributes: Readonly<Record<string, unknown>>) => Element;

/** The namespace of our own element in a file. */
const ownNamespace = 'urn:ebbline:protocol:1';

/** A text as the standard wraps it; nothing for nothing. */
const wrapped = (make: Make, type: string, text: string | undefined): Element | undefined =>
  text === undefined ? undefined : make(type, { text });

/** Leaves out what has no value, so that the file carries no empty attribute. */
const given = (attributes: Readonly<Record<string, unknown>>): Record<string, unknown> =>
  Object.fromEntries(Object.entries(attributes).filter(([, value]) => value !== undefined));

/**
 * Writes a model as DMN 1.3 XML that any DMN editor can open and that `readDmn` reads back as the same model: row
 * ids, annotations, descriptions and questions with it.
 *
 * Domain    models of tables with hit policy UNIQUE or FIRST and of literal expressions
 * Errors    protocol/not-publishable
 * Source    the standard's XML layout (S-dmn)
 */
export async function writeDmn(model: Omit<DmnModel, 'feel'>): Promise<string | Refusal> {
  for (const { name, logic } of model.decisions) {
    if (logic.kind === 'outside') return cannot(name, logic.what);
    if (logic.kind === 'table' && logic.hitPolicy !== 'UNIQUE' && logic.hitPolicy !== 'FIRST')
      return cannot(name, `a table of hit policy ${logic.hitPolicy}`);
  }
  const { DmnModdle } = await import('dmn-moddle');
  const moddle = new DmnModdle();
  const make: Make = (type, attributes) => moddle.create(`dmn:${type}`, given(attributes));
  const definitions = make('Definitions', {
    id: model.id,
    name: model.name,
    namespace: model.namespace ?? `urn:ebbline:model:${model.id}`,
    description: model.about,
    extensionElements: model.protocol
      ? make('ExtensionElements', {
          values: [moddle.createAny('ebbline:protocol', ownNamespace, model.protocol)],
        })
      : undefined,
    itemDefinition: model.types.map((type) => typeElement(make, type, `type_${type.name}`)),
    drgElement: [
      ...model.inputs.map((input) =>
        make('InputData', {
          id: input.id,
          name: input.name,
          description: input.about,
          variable: variable(make, input.name, input.typeRef),
        }),
      ),
      ...model.decisions.map((decision) => decisionElement(make, decision)),
    ],
  });
  const { xml } = await moddle.toXML(definitions, { format: true });
  return xml;
}

const cannot = (decision: string, what: string): Refusal =>
  refuse('protocol/not-publishable', {
    asked: 'Decision model',
    found: `"${decision}", which is ${what}`,
    allowed: 'tables of hit policy UNIQUE or FIRST, and FEEL expressions',
    todo: 'Rewrite the decision so that one row, or the first, answers.',
    where: decision,
  });

function variable(make: Make, name: string, typeRef: string | undefined): Element {
  return make('InformationItem', { name, typeRef });
}

function typeElement(make: Make, type: DmnType, id: string | undefined): Element {
  return make('ItemDefinition', {
    id,
    name: type.name,
    typeRef: type.typeRef,
    isCollection: type.isCollection ? true : undefined,
    allowedValues: wrapped(make, 'UnaryTests', type.allowed),
    itemComponent: type.components.map((part) => typeElement(make, part, undefined)),
  });
}

function decisionElement(make: Make, decision: DmnDecision): Element {
  const needs = [
    ...decision.needsInputs.map((id) => ['requiredInput', id] as const),
    ...decision.needsDecisions.map((id) => ['requiredDecision', id] as const),
  ];
  const { logic } = decision;
  return make('Decision', {
    id: decision.id,
    name: decision.name,
    description: decision.about,
    question: decision.question,
    variable: variable(make, decision.name, decision.typeRef),
    informationRequirement: needs.map(([kind, id]) =>
      make('InformationRequirement', {
        id: `${decision.id}_needs_${id}`,
        [kind]: make('DMNElementReference', { href: `#${id}` }),
      }),
    ),
    decisionLogic:
      logic.kind === 'table'
        ? tableElement(make, decision, logic)
        : make('LiteralExpression', { text: logic.kind === 'literal' ? logic.expression : '' }),
  });
}

function tableElement(make: Make, decision: DmnDecision, table: DmnTable): Element {
  const id = (part: string): string => `${decision.id}_${part}`;
  return make('DecisionTable', {
    id: id('table'),
    hitPolicy: table.hitPolicy,
    input: table.inputs.map((clause, column) =>
      make('InputClause', {
        id: id(`in_${column + 1}`),
        label: clause.label === '' ? undefined : clause.label,
        inputExpression: make('LiteralExpression', {
          id: id(`ex_${column + 1}`),
          typeRef: clause.typeRef,
          text: clause.expression,
        }),
        inputValues: wrapped(make, 'UnaryTests', clause.allowed),
      }),
    ),
    output: table.outputs.map((clause, column) =>
      make('OutputClause', {
        id: id(`out_${column + 1}`),
        name: clause.name,
        typeRef: clause.typeRef,
        outputValues: wrapped(make, 'UnaryTests', clause.values),
        defaultOutputEntry: wrapped(make, 'LiteralExpression', clause.otherwise),
      }),
    ),
    annotation: (table.noteNames ?? []).map((name) => make('RuleAnnotationClause', { name })),
    rule: table.rows.map((row) =>
      make('DecisionRule', {
        id: row.id,
        description: row.about,
        inputEntry: row.tests.map((text, at) => make('UnaryTests', { id: `${row.id}_i${at + 1}`, text })),
        outputEntry: row.values.map((text, at) =>
          make('LiteralExpression', { id: `${row.id}_o${at + 1}`, text }),
        ),
        annotationEntry: (row.notes ?? []).map((text) => make('RuleAnnotation', { text })),
      }),
    ),
  });
}
