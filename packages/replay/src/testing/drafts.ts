/** Drafts made by one change to a starter protocol, for tests. */
import { starterFor, type CompiledProtocol, type CompiledTest } from '@ebbline/protocol';

export const afterSurgery = starterFor('after-surgery') as CompiledProtocol;

type Row = CompiledProtocol['tables'][number]['rows'][number];

const withRows = (protocol: CompiledProtocol, change: (row: Row) => Row): CompiledProtocol => ({
  ...protocol,
  version: protocol.version + 1,
  tables: protocol.tables.map((table) => ({ ...table, rows: table.rows.map(change) })),
});

/** These rows of the advice are due after other minutes. */
export const withDue = (
  protocol: CompiledProtocol,
  dues: Readonly<Record<string, number>>,
): CompiledProtocol =>
  withRows(protocol, (row) => {
    const dueInMin = dues[row.id];
    return dueInMin === undefined ? row : { ...row, values: row.values.with(1, dueInMin) };
  });

/** The longest wait goes up to another volume than 250 mL; the shorter ones begin there. */
export const waitingUpTo = (protocol: CompiledProtocol, upToMl: number): CompiledProtocol => {
  const nextMl = Math.max(400, upToMl);
  const bands: Readonly<Record<string, CompiledTest>> = {
    'AS-31': { in: [null], ranges: [{ to: upToMl }] },
    'AS-32': { ranges: [{ from: upToMl, fromIn: true, to: nextMl, toIn: true }] },
    'AS-33': { ranges: [{ from: nextMl }] },
  };
  return withRows(protocol, (row) => {
    const band = bands[row.id];
    return band === undefined ? row : { ...row, tests: row.tests.with(3, band) };
  });
};

const advice = (id: string, tests: readonly CompiledTest[], step: string, dueInMin: number): Row => ({
  id,
  tests,
  values: [step, dueInMin, 'nurse', null, 'Said to everybody.', null, 'unit choice'],
});

const oneTable = (inputs: readonly string[], rows: readonly Row[]): CompiledProtocol => ({
  ...afterSurgery,
  id: 'one-table',
  settings: ['after-surgery', 'catheter-removed', 'after-birth', 'stroke-or-rehabilitation', 'spinal-cord'],
  tables: [
    {
      decision: 'Advice',
      hitPolicy: 'UNIQUE',
      inputs,
      outputs: ['step', 'dueInMin', 'ownerRole', 'tell', 'why', 'record', 'sourceId'],
      rows,
    },
  ],
});

/** One answer for everybody, all through. */
export const alwaysSaying = (step: string, dueInMin: number): CompiledProtocol =>
  oneTable([], [advice('A-1', [], step, dueInMin)]);

/** A look half an hour after anything but a reading; after a reading the watch can end. */
export const endingAfterOneLook: CompiledProtocol = oneTable(
  ['trigger'],
  [
    advice('A-1', [{ in: ['reading'] }], 'watch-can-end', 60),
    advice('A-2', [{ not: ['reading'] }], 'look-again', 30),
  ],
);

/** Examine discomfort now; else a look in 45 minutes. */
export const examiningDiscomfort: CompiledProtocol = oneTable(
  ['discomfort'],
  [advice('A-1', [{ in: [true] }], 'examine-now', 0), advice('A-2', [{ in: [false] }], 'look-again', 45)],
);
