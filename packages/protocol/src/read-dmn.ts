import { refuse, type Refusal } from '@ebbline/core/quantity';
import { loadFeel } from './load-feel.ts';
import {
  hitPolicies,
  type DmnDecision,
  type DmnInputData,
  type DmnLiteral,
  type DmnModel,
  type DmnOutside,
  type DmnTable,
  type DmnType,
  type HitPolicy,
} from './model.ts';

/** The model namespace that the reader library knows. */
const knownNamespace = 'https://www.omg.org/spec/DMN/20191111/MODEL/';
/** Model namespaces of DMN 1.2 to 1.5 and later; the parts we read are the same in all. */
const anyNamespace = /https?:\/\/www\.omg\.org\/spec\/DMN\/\d{8}\/MODEL\//g;
/** A protocol is some kilobytes; a file above this is something else. */
const largestCharacters = 5_000_000;

type Node = Readonly<Record<string, unknown>>;
const isNode = (value: unknown): value is Node => typeof value === 'object' && value !== null;
const nodes = (value: unknown): readonly Node[] => (Array.isArray(value) ? value.filter(isNode) : []);
const textOf = (value: unknown): string | undefined => {
  const text = isNode(value) ? value['text'] : undefined;
  return typeof text === 'string' ? text.trim() : undefined;
};
const word = (value: unknown): string | undefined =>
  typeof value === 'string' && value.trim() !== '' ? value.trim() : undefined;
/** Adds a key only when there is a value, so that "missing" stays missing. */
const maybe = <Key extends string>(key: Key, value: string | undefined): { readonly [K in Key]?: string } =>
  (value === undefined ? {} : { [key]: value }) as { readonly [K in Key]?: string };
/** `feel:string` and `string` name the same type. */
const typeName = (value: unknown): string | undefined => word(value)?.replace(/^feel[:.]/, '');

const notDmn = (found: string): Refusal =>
  refuse('protocol/not-dmn', {
    asked: 'Decision model',
    found,
    allowed:
      'one DMN 1.2 to 1.5 file in XML, without a document type declaration, at most 5 million characters',
    todo: 'Export the model as DMN XML and give that file.',
  });

/**
 * Reads a DMN file into the part of the standard that we run. What is outside that part is kept by name and
 * refused only when an answer needs it, so that one exotic decision does not hide the others.
 *
 * Domain    DMN 1.2 to 1.5 XML; literal expressions and decision tables
 * Errors    protocol/not-dmn · protocol/names-repeat. A row without an id
 *           gets the id `<decision> row <n>`
 * Source    the standard's XML layout (S-dmn)
 */
export async function readDmn(xml: string): Promise<DmnModel | Refusal> {
  if (typeof xml !== 'string' || xml.trim() === '') return notDmn('an empty file');
  if (xml.length > largestCharacters) return notDmn(`${xml.length} characters`);
  if (/<!DOCTYPE/i.test(xml)) return notDmn('a document type declaration');
  const { DmnModdle } = await import('dmn-moddle');
  let root: Node;
  try {
    const read: unknown = await new DmnModdle().fromXML(
      xml.replace(anyNamespace, knownNamespace),
      'dmn:Definitions',
    );
    const element = isNode(read) ? read['rootElement'] : undefined;
    if (!isNode(element)) return notDmn('no definitions');
    root = element;
  } catch {
    return notDmn('something that does not read as DMN');
  }
  const elements = nodes(root['drgElement']);
  const decisions: DmnDecision[] = [];
  for (const element of elements) {
    if (element['$type'] !== 'dmn:Decision') continue;
    decisions.push(readDecision(element));
  }
  const inputs: DmnInputData[] = elements
    .filter((element) => element['$type'] === 'dmn:InputData')
    .map((element) => ({
      id: word(element['id']) ?? '',
      name: word(element['name']) ?? '',
      ...maybe('about', word(element['description'])),
      ...maybe('typeRef', typeName(isNode(element['variable']) ? element['variable']['typeRef'] : undefined)),
    }));
  const repeated = firstRepeated([...decisions, ...inputs].map((one) => one.name));
  if (repeated !== undefined) {
    return refuse('protocol/names-repeat', {
      asked: 'Decision model',
      found: `two decisions or inputs named "${repeated}"`,
      allowed: 'a name for each decision and input that no other one has',
      todo: 'Rename one of them.',
    });
  }
  const extension = nodes(
    isNode(root['extensionElements']) ? root['extensionElements']['values'] : undefined,
  ).find((value) => word(value['$type'])?.toLowerCase() === 'ebbline:protocol');
  return {
    id: word(root['id']) ?? '',
    name: word(root['name']) ?? '',
    ...maybe('namespace', word(root['namespace'])),
    ...maybe('about', word(root['description'])),
    decisions,
    inputs,
    types: nodes(root['itemDefinition']).map(readType),
    protocol: extension === undefined ? undefined : wordsOf(extension),
    feel: await loadFeel(),
  };
}

function wordsOf(node: Node): Readonly<Record<string, string>> {
  const kept: Record<string, string> = {};
  for (const [key, value] of Object.entries(node)) {
    if (!key.startsWith('$') && typeof value === 'string') kept[key] = value;
  }
  return kept;
}

function firstRepeated(names: readonly string[]): string | undefined {
  const seen = new Set<string>();
  for (const name of names) {
    if (seen.has(name)) return name;
    seen.add(name);
  }
  return undefined;
}

function readDecision(element: Node): DmnDecision {
  const name = word(element['name']) ?? '';
  const needs = nodes(element['informationRequirement']);
  const idOf = (reference: unknown): string | undefined =>
    isNode(reference) ? word(reference['href'])?.replace(/^.*#/, '') : undefined;
  const given = (key: string): string[] => needs.flatMap((need) => idOf(need[key]) ?? []);
  const variable = element['variable'];
  const logic = readLogic(element['decisionLogic'], name);
  return {
    id: word(element['id']) ?? '',
    name,
    ...maybe('typeRef', typeName(isNode(variable) ? variable['typeRef'] : undefined)),
    ...maybe('about', word(element['description'])),
    ...maybe('question', word(element['question'])),
    needsDecisions: given('requiredDecision'),
    needsInputs: given('requiredInput'),
    logic,
  };
}

const kindNames: Readonly<Record<string, string>> = {
  'dmn:Invocation': 'an invocation of a business knowledge model',
  'dmn:Context': 'a boxed context',
  'dmn:List': 'a boxed list',
  'dmn:Relation': 'a relation',
  'dmn:FunctionDefinition': 'a function definition',
};

function readLogic(logic: unknown, decisionName: string): DmnTable | DmnLiteral | DmnOutside {
  if (!isNode(logic)) return { kind: 'outside', what: 'a decision without logic that we can read' };
  const type = word(logic['$type']) ?? '';
  const language = word(logic['expressionLanguage']);
  if (language !== undefined && !/feel/i.test(language))
    return { kind: 'outside', what: `the expression language ${language}` };
  if (type === 'dmn:LiteralExpression') {
    const expression = textOf(logic);
    return expression === undefined || expression === ''
      ? { kind: 'outside', what: 'an empty expression' }
      : { kind: 'literal', expression };
  }
  if (type !== 'dmn:DecisionTable') return { kind: 'outside', what: kindNames[type] ?? `a ${type}` };
  const hitPolicy = word(logic['hitPolicy']) ?? 'UNIQUE';
  if (!hitPolicies.includes(hitPolicy as HitPolicy))
    return { kind: 'outside', what: `the hit policy ${hitPolicy}` };
  const aggregation = word(logic['aggregation']);
  if (aggregation !== undefined)
    return { kind: 'outside', what: `the hit policy ${hitPolicy} with aggregation ${aggregation}` };
  const inputs = nodes(logic['input']).map((clause) => {
    const expression = isNode(clause['inputExpression']) ? clause['inputExpression'] : {};
    const text = textOf(expression) ?? word(clause['label']) ?? '';
    return {
      label: word(clause['label']) ?? text,
      expression: text,
      ...maybe('typeRef', typeName(expression['typeRef'])),
      ...maybe('allowed', textOf(clause['inputValues'])),
    };
  });
  const outputs = nodes(logic['output']).map((clause) => ({
    ...maybe('name', word(clause['name'])),
    ...maybe('typeRef', typeName(clause['typeRef'])),
    ...maybe('values', textOf(clause['outputValues'])),
    ...maybe('otherwise', textOf(clause['defaultOutputEntry'])),
  }));
  const rows = nodes(logic['rule']).map((rule, index) => ({
    id: word(rule['id']) ?? `${decisionName} row ${index + 1}`,
    tests: nodes(rule['inputEntry']).map((entry) => textOf(entry) ?? '-'),
    values: nodes(rule['outputEntry']).map((entry) => textOf(entry) ?? ''),
    ...maybe('about', word(rule['description'])),
    ...(nodes(rule['annotationEntry']).length > 0
      ? { notes: nodes(rule['annotationEntry']).map((entry) => textOf(entry) ?? '') }
      : {}),
  }));
  const misshapen = rows.find(
    (row) => row.tests.length !== inputs.length || row.values.length !== outputs.length,
  );
  if (misshapen) return { kind: 'outside', what: `row ${misshapen.id}, whose cells do not fit the columns` };
  if (outputs.length === 0) return { kind: 'outside', what: 'a table without an output' };
  const noteNames = nodes(logic['annotation']).map((clause) => word(clause['name']) ?? '');
  return {
    kind: 'table',
    hitPolicy: hitPolicy as HitPolicy,
    inputs,
    outputs,
    rows,
    ...(noteNames.length > 0 ? { noteNames } : {}),
  };
}

function readType(element: Node): DmnType {
  return {
    name: word(element['name']) ?? '',
    ...maybe('typeRef', typeName(element['typeRef'])),
    isCollection: element['isCollection'] === true,
    ...maybe('allowed', textOf(element['allowedValues'])),
    components: nodes(element['itemComponent']).map(readType),
  };
}
