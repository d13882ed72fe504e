/**
 * What a DMN file says, after reading, in the part of the standard that we run. Plain data, except `feel`,
 * the expression engine that the reader loaded beside it.
 */
export const hitPolicies = ['UNIQUE', 'FIRST', 'ANY', 'PRIORITY', 'RULE ORDER', 'COLLECT'] as const;
export type HitPolicy = (typeof hitPolicies)[number];

export interface DmnInputClause {
  readonly label: string;
  /** FEEL expression, most often the name of an input. */
  readonly expression: string;
  readonly typeRef?: string;
  /** FEEL unary tests that every value must meet. */
  readonly allowed?: string;
}

export interface DmnOutputClause {
  readonly name?: string;
  readonly typeRef?: string;
  /** FEEL list of the values that may come out; its order is the order of priority. */
  readonly values?: string;
  /** FEEL expression used when no row hits. */
  readonly otherwise?: string;
}

export interface DmnRow {
  readonly id: string;
  /** One FEEL unary test per input clause. */
  readonly tests: readonly string[];
  /** One FEEL expression per output clause. */
  readonly values: readonly string[];
  /** What the row is about, in words. */
  readonly about?: string;
  /** One text per annotation column of the table, when it has any: a source, a remark. */
  readonly notes?: readonly string[];
}

export interface DmnTable {
  readonly kind: 'table';
  readonly hitPolicy: HitPolicy;
  readonly inputs: readonly DmnInputClause[];
  readonly outputs: readonly DmnOutputClause[];
  readonly rows: readonly DmnRow[];
  /** Names of the annotation columns. */
  readonly noteNames?: readonly string[];
}

export interface DmnLiteral {
  readonly kind: 'literal';
  readonly expression: string;
}

/** Logic of a kind that we do not run; kept so that the refusal can say what it is. */
export interface DmnOutside {
  readonly kind: 'outside';
  readonly what: string;
}

export interface DmnDecision {
  readonly id: string;
  readonly name: string;
  readonly typeRef?: string;
  readonly about?: string;
  /** The question it answers, in words. */
  readonly question?: string;
  /** Ids of the decisions and inputs it needs. */
  readonly needsDecisions: readonly string[];
  readonly needsInputs: readonly string[];
  readonly logic: DmnTable | DmnLiteral | DmnOutside;
}

export interface DmnInputData {
  readonly id: string;
  readonly name: string;
  readonly about?: string;
  readonly typeRef?: string;
}

export interface DmnType {
  readonly name: string;
  readonly typeRef?: string;
  readonly isCollection: boolean;
  readonly allowed?: string;
  readonly components: readonly DmnType[];
}

export interface DmnModel {
  readonly id: string;
  readonly name: string;
  readonly namespace?: string;
  readonly about?: string;
  readonly decisions: readonly DmnDecision[];
  readonly inputs: readonly DmnInputData[];
  readonly types: readonly DmnType[];
  /** Attributes of our own `ebbline:protocol` extension element, when the file has one. */
  readonly protocol: Readonly<Record<string, string>> | undefined;
  readonly feel: Feel;
}

/** The two things we ask of a FEEL engine. Both throw on a syntax error. */
export interface Feel {
  readonly evaluate: (expression: string, context: Readonly<Record<string, unknown>>) => unknown;
  /** True when the value meets the unary tests; false or null when not. */
  readonly unaryTest: (tests: string, value: unknown, context: Readonly<Record<string, unknown>>) => boolean;
}
