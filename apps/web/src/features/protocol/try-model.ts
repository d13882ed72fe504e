/** "Try a patient": a form of the inputs that a draft asks for, and what it answers. */
import { isRefusal, type Refusal } from '@ebbline/core/quantity';
import {
  answerProtocol,
  answerTable,
  dictionary,
  inputNames,
  wholePatient,
  type Advice,
  type CompiledProtocol,
  type InputName,
  type ProtocolInput,
} from '@ebbline/protocol';
import { numberTyped } from './cell-model.ts';

/** What stands in the form, by input; an empty text is "not known". */
export type Typed = Readonly<Partial<Record<InputName, string>>>;

/** Inputs that one of the tables asks for, in the order of the dictionary. */
export function askedInputs(protocol: CompiledProtocol): readonly InputName[] {
  const asked = new Set(protocol.tables.flatMap((table) => table.inputs));
  // The limit stands beside the volume whether a table names it or not: being over it is worked out from both.
  return inputNames.filter((name) => asked.has(name) || name === 'volumeMl' || name === 'limitMl');
}

/** A patient as it is typed: what is given, the rest as harmless as can be. */
export function typedOf(protocol: CompiledProtocol, patient: Partial<ProtocolInput>): Typed {
  const whole = wholePatient(protocol, patient);
  return Object.fromEntries(
    inputNames.flatMap((name) => {
      const value = whole[name];
      return value === undefined || value === null ? [] : [[name, String(value)]];
    }),
  );
}

export function inputOf(typed: Typed): Readonly<Record<string, unknown>> {
  return Object.fromEntries(
    inputNames.flatMap((name): readonly (readonly [string, unknown])[] => {
      const text = typed[name]?.trim() ?? '';
      if (text === '') return [];
      const { kind } = dictionary[name];
      // What is no number goes on as it was typed, and is refused by name.
      if (kind === 'number') return [[name, numberTyped(text) ?? text]];
      return [[name, kind === 'flag' ? text === 'true' : text]];
    }),
  );
}

export interface Tried {
  readonly answer: Advice | Refusal;
  /** Rows that the patient passed, first to last; as far as they go when there is no answer. */
  readonly rows: readonly string[];
}

export function tryPatient(protocol: CompiledProtocol, typed: Typed): Tried {
  const input = inputOf(typed);
  const answer = answerProtocol(protocol, input as unknown as ProtocolInput);
  if (!isRefusal(answer)) return { answer, rows: answer.trace };
  const rows: string[] = [];
  const context: Record<string, unknown> = { ...input };
  for (const table of protocol.tables) {
    const one = answerTable(table, context);
    if (isRefusal(one)) break;
    rows.push(one.rowId);
    context[table.decision] = one.values[table.outputs[0] ?? ''];
  }
  return { answer, rows };
}
