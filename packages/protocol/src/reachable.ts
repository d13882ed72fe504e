import { dictionary, inputNames, type InputName, type ProtocolInput } from './dictionary.ts';
import type { CompiledProtocol } from './compile-protocol.ts';
import type { CompiledTest, Scalar } from './compile-table.ts';
import {
  boxWhere,
  everything,
  holdsInput,
  inputSpace,
  piecesIn,
  piecesOf,
  shared,
  type Box,
  type InputSpace,
} from './input-space.ts';

/** The space of a protocol's inputs: every input of the dictionary, cut where its tables and the laws can tell. */
export function protocolSpace(protocol: CompiledProtocol): InputSpace {
  const testsOf = (name: InputName): readonly CompiledTest[] =>
    protocol.tables.flatMap((table) =>
      table.rows.flatMap((row) => row.tests.filter((_test, column) => table.inputs[column] === name)),
    );
  const limitTests = testsOf('limitMl');
  const values = inputNames.map((name): readonly Scalar[] => {
    if (name === 'ageBand') return protocol.ageBands;
    if (name === 'setting') return protocol.settings;
    // Volume and limit are compared with each other: one is cut where the other is, up to the largest limit there
    // is, and in a stretch that both share the volume that stands for it is the lower one.
    if (name === 'volumeMl') return piecesOf(name, [...testsOf(name), ...limitTests, limitEnds], 1 / 3);
    if (name === 'limitMl' && limitTests.some((test) => test !== 0))
      return piecesOf(name, [...limitTests, ...testsOf('volumeMl')], 2 / 3);
    return piecesOf(name, testsOf(name));
  });
  return inputSpace(inputNames, values);
}

const { min: leastLimitMl = 0, max: mostLimitMl = 0 } = dictionary.limitMl;
const limitEnds: CompiledTest = { in: [leastLimitMl, mostLimitMl] };

const column = (name: InputName): number => inputNames.indexOf(name);

/**
 * Which patients there can be, declared once, as boxes that share nothing: what the door (`readInput`) refuses and
 * what `answerProtocol` has settled before the tables are asked does not count as a patient.
 *
 * 1 A volume comes with the kinds "exact" and "at-least", and with no other.
 * 2 A volume at or above the limit, unless it is drained already, is over the limit.
 */
export function possiblePatients(space: InputSpace): readonly Box[] {
  const only = (rules: Partial<Record<InputName, (value: Scalar) => boolean>>): Box =>
    boxWhere(space, (input, value) => rules[space.names[input] as InputName]?.(value) ?? true);
  const withNumber = (value: Scalar): boolean => value === 'exact' || value === 'at-least';
  const byKind = [
    only({ volumeKind: (value) => !withNumber(value), volumeMl: (value) => value === null }),
    only({ volumeKind: withNumber, volumeMl: (value) => value !== null }),
  ];
  const drained = (value: Scalar): boolean => value === 'drained';
  const yes = (value: Scalar): boolean => value === 'yes';
  const limits = space.values[column('limitMl')] ?? [];
  const tested = limits.length > 3;
  const byLimit = [
    only({ trigger: drained }),
    only({ trigger: (value) => !drained(value), overLimit: yes }),
    ...(tested ? limits : [mostLimitMl]).map((limit) =>
      only({
        trigger: (value) => !drained(value),
        overLimit: (value) => !yes(value),
        volumeMl: (value) => value === null || Number(value) < Number(limit),
        ...(tested ? { limitMl: (value: Scalar) => value === limit } : {}),
      }),
    ),
  ];
  return byKind.flatMap((kind) => byLimit.flatMap((limit) => shared(space, kind, limit) ?? []));
}

/** What stands in an input that a fault does not depend on: as harmless as can be. */
const harmless: Partial<Record<InputName, Scalar>> = {
  trigger: 'reading',
  volumeKind: 'missing',
  relation: 'unknown',
  discomfort: false,
  redFlag: 'none',
  residualLate: false,
  ageBand: 'adult',
  limitMl: mostLimitMl,
  overLimit: 'no',
  doNotDrain: 'none',
  catheterInPlace: false,
  trust: 'good',
};

/**
 * A patient of a box: a value for what the box narrows, nothing for the rest. Numbers are the lowest that fit, but
 * for the limit, which is the highest, so that a volume stays under it.
 */
export function patientIn(space: InputSpace, box: Box): Partial<ProtocolInput> {
  const full = everything(space);
  const patient: Record<string, Scalar> = {};
  for (const [input, name] of space.names.entries()) {
    if (holdsInput(space, box, full, input)) continue;
    const values = space.values[input] ?? [];
    const pieces = piecesIn(space, box, input);
    const usual = harmless[name as InputName] ?? null;
    const kept = pieces.find((piece) => values[piece] === usual);
    const piece = kept ?? (name === 'limitMl' ? pieces.at(-1) : pieces[0]);
    const value = piece === undefined ? null : (values[piece] ?? null);
    if (value !== null) patient[name] = value;
  }
  // Said by the volume itself, when it is there.
  if (patient['volumeKind'] === (patient['volumeMl'] === undefined ? 'missing' : 'exact'))
    delete patient['volumeKind'];
  return patient as Partial<ProtocolInput>;
}

/** A whole patient for one that names only what matters, so that it can be put to the protocol. */
export function wholePatient(protocol: CompiledProtocol, patient: Partial<ProtocolInput>): ProtocolInput {
  const counts = { looksSoFar: 0, drainsSoFar: 0, voidsSoFar: 0, lowResidualsInARow: 0 };
  const [ageBand = 'adult'] = protocol.ageBands;
  return {
    ...counts,
    ...harmless,
    ageBand: protocol.ageBands.includes('adult') ? 'adult' : ageBand,
    setting: protocol.settings[0],
    ...(patient.volumeMl === undefined ? {} : { volumeKind: 'exact' }),
    ...patient,
  } as ProtocolInput;
}
