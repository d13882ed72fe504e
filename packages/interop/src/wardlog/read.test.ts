// Proves     a ward log is read line by line with refusals that help, nothing half kept; what was known at an instant
//            is the log as it stood then; the mapping to filling observations.
// Published  format wardlog-1 (S-wardlog-1); its public wards are read from EBBLINE_SAMPLES when that is set
// Tolerance  exact.
import { existsSync, readFileSync } from 'node:fs';
import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { instantMs, isRefusal, orThrow, refusalSentence } from '@ebbline/core/quantity';
import { readWardLine } from './line.ts';
import { knownThen, watchOf } from './observations.ts';
import { knownAt, patientsOf, readWardLog, type WardLog } from './read.ts';

const example = readFileSync(new URL('../../../../examples/ward/log.ndjson', import.meta.url), 'utf8');
const samples = process.env['EBBLINE_SAMPLES'];
const on22 = (clock: string): number => instantMs(`2026-10-22T${clock}+02:00`);
const line = (more: object): string =>
  JSON.stringify({
    id: 'w-1',
    kind: 'reading',
    patient: 'w-P1',
    at: '2026-05-12T11:37:00+02:00',
    atQuality: 'exact',
    recordedAt: '2026-05-12T11:37:16+02:00',
    source: 'typed',
    volumeMl: 289,
    bound: 'exact',
    doubts: [],
    afterVoid: false,
    look: 'K1',
    ...more,
  });

describe('one line', () => {
  it.each([
    ['text that is no JSON', '{"id":', 'wardlog/not-json', '6 characters'],
    ['a list', '[]', 'wardlog/not-an-object', '[]'],
    ['a field with another unit in its name', line({ volumeL: 1 }), 'wardlog/unknown-field', 'volumeL'],
    ['a volume below zero', line({ volumeMl: -4 }), 'wardlog/bad-value', 'volumeMl = -4'],
    ['a volume that is null', line({ volumeMl: null }), 'wardlog/bad-value', 'null'],
    ['half a millilitre', line({ volumeMl: 1.5 }), 'wardlog/bad-value', '1.5'],
    [
      'a time without offset',
      line({ at: '2026-05-12T11:37:00' }),
      'wardlog/bad-value',
      '2026-05-12T11:37:00',
    ],
    ['a reading without its bound', line({ bound: undefined }), 'wardlog/missing-field', 'no bound'],
    ['a doubt that is not listed', line({ doubts: ['odd'] }), 'wardlog/bad-value', 'odd'],
    [
      'a measured void without volume',
      line({
        kind: 'void',
        volumeMl: undefined,
        bound: undefined,
        doubts: undefined,
        afterVoid: undefined,
        look: undefined,
        measured: true,
        class: 'jug',
      }),
      'wardlog/missing-field',
      'no volumeMl',
    ],
    [
      'a withdrawal of nothing',
      line({ withdrawn: true, volumeMl: undefined }),
      'wardlog/missing-field',
      'no replaces',
    ],
    ['a field of the prototype', line({ constructor: 1 }), 'wardlog/unknown-field', 'constructor'],
  ])('with %s is refused with its number and what was found', (_, text, code, found) => {
    const got = readWardLine(text, 12);
    expect(isRefusal(got) && got.code).toBe(code);
    expect(isRefusal(got) && got.found).toContain(found);
    expect(isRefusal(got) && refusalSentence(got)).toContain('line 12');
  });

  it('never throws, whatever the text', () => {
    fc.assert(
      fc.property(fc.oneof(fc.string(), fc.json()), (text) => {
        readWardLine(text, 1);
        return true;
      }),
      { seed: 51, numRuns: 300 },
    );
  });
});

describe('a whole log', () => {
  it('is read in charting order', () => {
    const log = orThrow(readWardLog(example));
    expect(log.lines.length).toBe(18);
    expect(patientsOf(log)).toEqual(['heron-P01', 'heron-P02']);
  });

  it('with one line broken in the middle keeps nothing, unless asked', () => {
    const rows = example.trimEnd().split('\n');
    const broken = [...rows.slice(0, 5), (rows[5] as string).slice(0, 40), ...rows.slice(6)].join('\n');
    const refused = readWardLog(broken);
    expect(isRefusal(refused) && refused.where).toBe('line 6');
    const kept = orThrow(readWardLog(broken, { keepGoodLines: true }));
    expect(kept.lines.length).toBe(rows.length - 1);
    expect(kept.broken.map((one) => one.where)).toEqual(['line 6']);
  });

  it('refuses an id used twice and a correction of nothing', () => {
    const twice = readWardLog(`${line({})}\n${line({})}`);
    expect(isRefusal(twice) && twice.code).toBe('wardlog/same-id');
    const nothing = readWardLog(line({ replaces: 'w-9', reason: 'typing' }));
    expect(isRefusal(nothing) && nothing.code).toBe('wardlog/replaces-nothing');
  });

  it('reads Windows line ends, a byte order mark and a missing last line end', () => {
    expect(orThrow(readWardLog(`\uFEFF${line({})}\r\n${line({ id: 'w-2' })}`)).lines.length).toBe(2);
  });
});

describe('what was known at an instant', () => {
  const log = orThrow(readWardLog(example));
  const volumes = (clock: string, patient: string): (number | undefined)[] =>
    knownAt(log, on22(clock), patient).flatMap((one) =>
      'volumeMl' in one && one.kind !== 'intake' ? [one.volumeMl] : [],
    );

  it('holds the slip of the keyboard until it was put right', () => {
    expect(volumes('15:51:00', 'heron-P02')).toEqual([260, 1900]);
    expect(volumes('15:53:00', 'heron-P02')).toEqual([260, 190]);
  });

  it('holds the reading in the wrong chart until it was taken back', () => {
    expect(volumes('15:58:00', 'heron-P02')).toContain(560);
    expect(volumes('15:59:10', 'heron-P02')).not.toContain(560);
  });

  it('holds a late entry only from when it was recorded, in its place by time', () => {
    expect(
      knownAt(log, on22('14:51:59'), 'heron-P01').some(
        (one) => one.kind === 'context' && one.state === 'worn-off',
      ),
    ).toBe(false);
    const kinds = knownAt(log, on22('15:00:00'), 'heron-P01').map((one) => one.kind);
    expect(kinds).toEqual(['intake', 'watch', 'context', 'reading', 'context']);
  });

  it('[estimate-no-look-ahead] is the same when the log is cut at that instant', () => {
    for (const clock of ['13:10:20', '15:23:00', '15:52:30', '15:58:00', '16:13:59', '19:00:00']) {
      const atMs = on22(clock);
      const cut = orThrow(
        readWardLog(
          example
            .split('\n')
            .filter(
              (row) =>
                row !== '' && instantMs((JSON.parse(row) as { recordedAt: string }).recordedAt) <= atMs,
            )
            .join('\n'),
        ),
      );
      for (const patient of patientsOf(log))
        expect(knownAt(log, atMs, patient).map((one) => one.id)).toEqual(
          knownAt(cut, atMs, patient).map((one) => one.id),
        );
    }
  });
});

describe('what it says to the filling room', () => {
  const log = orThrow(readWardLog(example));
  const said = (one: WardLog) =>
    knownThen(one, Number.MAX_SAFE_INTEGER, patientsOf(one)[0] ?? '').observations;

  it('is one reading for a look charted three times, the mean of the exact ones', () => {
    const three = orThrow(
      readWardLog(
        [
          line({ volumeMl: 300 }),
          line({ id: 'w-2', volumeMl: 330 }),
          line({ id: 'w-3', volumeMl: 100, bound: 'at-least', doubts: ['cut-below'] }),
        ].join('\n'),
      ),
    );
    const readings = said(three).filter((one) => one.kind === 'reading');
    expect(readings.map((one) => one.kind === 'reading' && [one.volumeMl, one.bound])).toEqual([
      [315, 'exact'],
    ]);
  });

  it('keeps "at least" when that is all there is', () => {
    const bound = orThrow(readWardLog(line({ volumeMl: 412, bound: 'at-least', doubts: ['cut-below'] })));
    expect(said(bound)[0]).toMatchObject({
      kind: 'reading',
      bound: 'at-least',
      volumeMl: 412,
    });
  });

  it('takes an entry from a clock that runs ahead as happening when it was recorded', () => {
    const ahead = orThrow(readWardLog(line({ at: '2026-05-12T13:37:00+02:00' })));
    expect(said(ahead)[0]?.atMs).toBe(instantMs('2026-05-12T11:37:16+02:00'));
  });

  it('has the catheter, the bag, the void and the drain of the example', () => {
    const kinds = (patient: string): string[] =>
      knownThen(log, on22('20:00:00'), patient).observations.map((one) => one.kind);
    expect(kinds('heron-P01')).toEqual([
      'void',
      'intake',
      'covariate',
      'covariate',
      'reading',
      'covariate',
      'void',
      'reading',
      'reading',
      'drained',
      'void',
    ]);
    // Two things of one instant: which comes first is settled by the filling room, so either order will do.
    expect(kinds('heron-P02').slice(0, 2).sort()).toEqual(['catheter', 'covariate']);
    expect(kinds('heron-P02').slice(2)).toEqual(['bag', 'catheter', 'void', 'covariate']);
    expect(watchOf(knownAt(log, on22('20:00:00'), 'heron-P01'))?.limitMl).toBe(600);
  });
});

describe.skipIf(!samples || !existsSync(`${samples}/wards/public`))(
  'the public wards (EBBLINE_SAMPLES names them)',
  () => {
    it.each(['pub-1', 'pub-2', 'pub-3'])('%s is read whole, every line checked', (ward) => {
      const text = readFileSync(`${samples}/wards/public/${ward}/log.ndjson`, 'utf8');
      const log = orThrow(readWardLog(text));
      expect(log.lines.length).toBe(text.trimEnd().split('\n').length);
      expect(patientsOf(log).length).toBe(24);
      const last = Math.max(...log.lines.map((one) => one.recordedAtMs));
      for (const patient of patientsOf(log))
        expect(knownThen(log, last, patient).observations.length).toBeGreaterThan(0);
    });
  },
);
