/**
 * A typed refusal: what was asked, what was found, what is allowed, what to do, and a stable code.
 * It never carries a name, an identifier or a birth date.
 */
export interface Refusal {
  readonly refused: true;
  /** Stable, for scripts and translations: `room/what-is-wrong`. */
  readonly code: string;
  /** What was asked for, as a noun: "Volume", "Reading". */
  readonly asked: string;
  /** What was found, with its unit. */
  readonly found: string;
  /** What is allowed, with its unit. */
  readonly allowed: string;
  /** What the person can do now. */
  readonly todo: string;
  /** Where in the input it stands, when the input has places (`payload.volumeMl`, `line 12`). */
  readonly where?: string;
}

/** Makes a refusal; the one way in, so that no part is forgotten. */
export function refuse(
  code: string,
  parts: { asked: string; found: string; allowed: string; todo: string; where?: string },
): Refusal {
  return { refused: true, code, ...parts };
}

/** True when a result is a refusal. */
export function isRefusal(value: unknown): value is Refusal {
  return typeof value === 'object' && value !== null && (value as { refused?: unknown }).refused === true;
}

/** The refusal as one line for a person: asked, found, allowed, what to do, code. */
export function refusalSentence(refusal: Refusal): string {
  const where = refusal.where === undefined ? '' : ` (${refusal.where})`;
  return `${refusal.asked} not accepted${where}: found ${refusal.found}; allowed is ${refusal.allowed}. ${refusal.todo} [${refusal.code}]`;
}

/** Thrown only at edges, when a refusal has to cross a boundary that knows exceptions. */
export class RefusalError extends Error {
  readonly refusal: Refusal;
  constructor(refusal: Refusal) {
    super(refusalSentence(refusal));
    this.name = 'RefusalError';
    this.refusal = refusal;
  }
}

/** The value, or an exception that carries the refusal. For tests and edges. */
export function orThrow<Value>(value: Value | Refusal): Value {
  if (isRefusal(value)) throw new RefusalError(value);
  return value;
}
