// Proves     entries written as CSV come back the same, whatever they hold; no cell can run as a formula; wrong rows are
//            refused with their line.
// Tolerance  none
import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { isRefusal, orThrow, shapes, uuidOfText } from '@ebbline/core/quantity';
import { checkEntry, entryKinds, payloadShapes, type Entry } from '@ebbline/core/record';
import { csvColumns, entriesCsv, readEntriesCsv, readRows, writeCell } from './index.ts';

const textShape = shapes.text;
const nowMs = Date.parse('2026-11-25T12:00:00Z');
type Schema = {
  readonly type?: string;
  readonly enum?: readonly string[];
  readonly minimum?: number;
  readonly maximum?: number;
  readonly maxLength?: number;
  readonly format?: string;
  readonly items?: Schema;
  readonly maxItems?: number;
  readonly properties?: Readonly<Record<string, Schema>>;
  readonly required?: readonly string[];
};

const instant = fc
  .integer({ min: Date.parse('2026-01-01T00:00:00Z'), max: nowMs })
  .map((ms) => new Date(ms).toISOString());
const nasty = (max: number): fc.Arbitrary<string> =>
  fc
    .oneof(
      fc.string({ minLength: 1, maxLength: Math.min(30, max) }),
      fc.constantFrom(
        '=1+1',
        '+49',
        '-5',
        '@x',
        "'quoted",
        '"',
        'a,b',
        'line\nbreak',
        '\tTab',
        ' lead and trail ',
        'Ελένη ≥ ± Ł',
        ';',
        "''=",
      ),
    )
    .filter((one) => one.length <= max && !isRefusal(textShape(600).check(one, '')));

/** Something that a shape's JSON Schema allows. */
function allowed(schema: Schema): fc.Arbitrary<unknown> {
  if (schema.enum) return fc.constantFrom(...schema.enum);
  if (schema.format === 'date-time') return instant;
  if (schema.format === 'uuid') return fc.string().map(uuidOfText);
  if (schema.type === 'integer') return fc.integer({ min: schema.minimum ?? 0, max: schema.maximum ?? 1 });
  if (schema.type === 'number')
    return fc.double({ min: schema.minimum ?? 0, max: schema.maximum ?? 1, noNaN: true });
  if (schema.type === 'boolean') return fc.boolean();
  // A list with one item or more when it may be missing: an empty optional list and a missing one look alike in a table.
  if (schema.type === 'array')
    return fc.array(allowed(schema.items ?? {}), {
      minLength: 1,
      maxLength: Math.min(4, schema.maxItems ?? 4),
    });
  if (schema.type === 'object') {
    return fc.record(
      Object.fromEntries(Object.entries(schema.properties ?? {}).map(([name, one]) => [name, allowed(one)])),
      { requiredKeys: [...(schema.required ?? [])] },
    );
  }
  return nasty(schema.maxLength ?? 40);
}

const entry: fc.Arbitrary<Entry> = fc
  .constantFrom(...entryKinds)
  .chain((kind) =>
    fc.record(
      {
        id: fc.string().map(uuidOfText),
        organisation: nasty(40),
        patient: nasty(40),
        kind: fc.constant(kind),
        effectiveAt: instant,
        timeQuality: fc.constantFrom('exact', 'rounded', 'unknown'),
        recordedAt: instant,
        author: nasty(40),
        madeOn: nasty(40),
        corrects: fc.string().map(uuidOfText),
        payload: allowed(payloadShapes[kind].jsonSchema as Schema),
      },
      {
        requiredKeys: [
          'id',
          'organisation',
          'patient',
          'kind',
          'effectiveAt',
          'timeQuality',
          'recordedAt',
          'author',
          'madeOn',
          'payload',
        ],
      },
    ),
  )
  .filter((one) => !isRefusal(checkEntry(one, nowMs))) as fc.Arbitrary<Entry>;

const reading = {
  id: uuidOfText('reading'),
  organisation: 'org',
  patient: 'p',
  kind: 'reading',
  effectiveAt: '2026-05-14T10:00:00+02:00',
  timeQuality: 'exact',
  recordedAt: '2026-05-14T10:01:00+02:00',
  author: 'a',
  madeOn: 'm',
  payload: { result: 'exact', volumeMl: 240, relation: 'no-void', doubts: [] },
} as Entry;

describe('entries as CSV', () => {
  it('come back the same, whatever they hold', () => {
    fc.assert(
      fc.property(fc.array(entry, { maxLength: 6 }), (entries) => {
        const back = orThrow(readEntriesCsv(entriesCsv(entries), nowMs));
        expect(back.refused).toEqual([]);
        expect(back.entries).toEqual(entries);
      }),
      { seed: 20261125, numRuns: 150 },
    );
  });

  it('never hold a cell that a spreadsheet would run [H20-formula-cell]', () => {
    fc.assert(
      fc.property(nasty(60), (text) => {
        const cell = writeCell(text);
        expect((cell.startsWith('"') ? cell.slice(1) : cell)[0]).not.toMatch(/[=+\-@\t\r]/);
      }),
      { seed: 20261125, numRuns: 300 },
    );
    expect(writeCell('=HYPERLINK("x")')).toBe(`"'=HYPERLINK(""x"")"`);
  });

  it('have a unit in the name of every volume, and no name twice', () => {
    expect(csvColumns).toContain('volumeMl');
    expect(new Set(csvColumns).size).toBe(csvColumns.length);
  });

  it('can be written by hand with few columns', () => {
    const text = `id,organisation,patient,kind,effectiveAt,recordedAt,author,madeOn,result,volumeMl,relation\n${reading.id},org,p,reading,2026-05-14T10:00:00+02:00,2026-05-14T10:01:00+02:00,a,m,exact,240,no-void\n`;
    expect(orThrow(readEntriesCsv(text, nowMs)).entries).toEqual([reading]);
  });

  it('are refused row by row, with line and field, and the good rows are kept apart', () => {
    const bad = entriesCsv([
      reading,
      { ...reading, payload: { ...reading.payload, volumeMl: 99_999 } } as Entry,
    ]);
    const read = orThrow(readEntriesCsv(bad, nowMs));
    expect(read.entries).toHaveLength(1);
    expect(read.refused).toMatchObject([{ code: 'record/out-of-range', where: 'line 3, volumeMl' }]);
  });

  it('are refused whole when the header is not ours', () => {
    for (const text of [
      '',
      'id;kind',
      'id,kind\n1,2',
      entriesCsv([reading]).replace('volumeMl', 'volumeCc'),
      'a"b\n"open',
    ]) {
      const read = readEntriesCsv(text, nowMs);
      expect(isRefusal(read), text).toBe(true);
    }
  });

  it('tell where a quote never closes', () => {
    expect(readRows('a,b\n"c,d')).toMatchObject({ code: 'csv/open-quote', where: 'line 2' });
  });

  it('keep line breaks inside a cell and count lines right after it', () => {
    expect(readRows('a\r\n"x\ny"\r\nb')).toEqual([
      { cells: ['a'], line: 1 },
      { cells: ['x\ny'], line: 2 },
      { cells: ['b'], line: 4 },
    ]);
  });
});
