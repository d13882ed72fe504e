// Proves     rows keep the order in which somebody has to act, stay the same object while they read the same, and carry
//            their state as word and shape; beds hang in time on the strip; the wall names nobody
// Published  none
// Tolerance  exact
import { describe, expect, it } from 'vitest';
import { createElement } from 'react';
import { renderToStaticMarkup } from 'react-dom/server';
import { dayMs, hourMs, instantOfMs, minuteMs, orThrow } from '@ebbline/core/quantity';
import { labels } from '@ebbline/core/present';
import { withoutNames } from '../../features/wall/without-names.ts';
import { keepPlaces } from '../../features/board/settled.ts';
import { directory, fakeRecord, nurse, openTablet, registered, startMs } from '../../shell/testing/fakes.ts';
import { BoardTable } from './board-table.tsx';
import { countsOf, markOf, rowOf, rowsOf, sentenceOf, stateWords } from './rows.ts';
import { hang } from './time-strip.tsx';

const zone = 'Europe/Copenhagen';

/** Three patients: one overdue, one due soon with only a low bound, one with a catheter. */
async function ward() {
  const { replica, clock } = await openTablet(fakeRecord());
  const ago = (minutes: number): string => instantOfMs(startMs - minutes * minuteMs);
  const advised = (patient: string, dueMs: number, agoMin: number) => ({
    patient,
    kind: 'step-advised' as const,
    effectiveAt: ago(agoMin),
    payload: {
      step: 'look-again' as const,
      dueAt: instantOfMs(dueMs),
      ownerRole: 'nurse' as const,
      why: 'Because of the test.',
      rowId: 'T-1',
      rowText: 'A row.',
      rowSourceId: 'S-test',
      protocolId: 'test',
      protocolVersion: 1,
      protocolApproval: 'example-not-approved' as const,
    },
  });
  const watched = (patient: string, bed: string) => [
    { ...registered(patient, bed), effectiveAt: ago(300) },
    {
      patient,
      kind: 'watch-opened' as const,
      effectiveAt: ago(240),
      payload: {
        setting: 'after-surgery' as const,
        reason: 'Knee replacement',
        lastVoidAt: ago(250),
        owner: nurse.id,
      },
    },
  ];
  orThrow(
    await replica.record([
      ...watched('p-soon', '1'),
      {
        patient: 'p-soon',
        kind: 'reading',
        effectiveAt: ago(3),
        payload: { result: 'at-least', volumeMl: 180, relation: 'no-void', doubts: ['cut-below'] },
      },
      advised('p-soon', startMs + 20 * minuteMs, 2),
      ...watched('p-late', '2'),
      {
        patient: 'p-late',
        kind: 'reading',
        effectiveAt: ago(50),
        payload: { result: 'exact', volumeMl: 150, relation: 'no-void', doubts: [] },
      },
      advised('p-late', startMs - 30 * minuteMs, 60),
      ...watched('p-cath', '3'),
      {
        patient: 'p-cath',
        kind: 'catheter-placed',
        effectiveAt: ago(30),
        payload: {
          route: 'urethral',
          reason: 'strict-output',
          plannedRemovalAt: instantOfMs(startMs + dayMs),
        },
      },
    ]),
  );
  return { replica, clock };
}

describe('rows of a ward', () => {
  it('begin with what is overdue, and end with what has no look due', async () => {
    const { replica } = await ward();
    const rows = rowsOf(replica.ward('ward-one'), zone, directory);
    expect(rows.map((row) => row.patient)).toEqual(['p-late', 'p-soon', 'p-cath']);
    expect(rows.map((row) => row.group)).toEqual(['now', 'within-the-hour', 'no-look-due']);
    expect(countsOf(rows)).toEqual({ now: 1, withinTheHour: 1 });
  });

  it('say their state in a word and a shape', async () => {
    const { replica } = await ward();
    const [late, soon] = rowsOf(replica.ward('ward-one'), zone, directory) as [
      ReturnType<typeof rowOf>,
      ReturnType<typeof rowOf>,
    ];
    expect([markOf(late), stateWords(late)]).toEqual(['overdue', expect.stringMatching(/^\d+ min overdue$/)]);
    expect([markOf(soon), stateWords(soon)]).toEqual([
      'part-seen',
      expect.stringMatching(/^(in \d+ min|due .*), part seen$/),
    ]);
    expect(sentenceOf(late)).not.toContain(' by 18:');
  });

  it('stay the same object while they read the same', async () => {
    const { replica } = await ward();
    const facts = replica.factsOf('p-soon');
    const first = rowOf(facts, zone, directory);
    expect(rowOf({ ...facts }, zone, directory)).toBe(first);
    expect(rowOf({ ...facts, bed: '9' }, zone, directory)).not.toBe(first);
  });

  it("are drawn without initials, owners' initials and sentences on a wall", async () => {
    const { replica, clock } = await ward();
    const rows = rowsOf(replica.ward('ward-one'), zone, withoutNames(directory, labels.roles));
    const draw = (names: boolean): string =>
      renderToStaticMarkup(createElement(BoardTable, { rows, nowMs: clock.nowMs, zone, names }));
    const wall = draw(false);
    expect(wall).toContain('Nurse');
    for (const word of ['T.M.', nurse.initials, nurse.name, rows[0]?.sentence ?? 'x'])
      expect(wall).not.toContain(word);
  });
});

describe('the strip of hours', () => {
  it('hangs beds where they are due, side by side in three lanes, and counts the rest', async () => {
    const { replica } = await ward();
    const [, soon] = rowsOf(replica.ward('ward-one'), zone, directory);
    const item = soon?.item;
    if (!soon || !item) throw new Error('no row');
    const five = [1, 2, 3, 4, 5].map((bed) => ({
      ...soon,
      patient: `p${bed}`,
      bed: String(bed),
      item: { ...item, dueAtMs: startMs + hourMs },
    }));
    const { hanging, more } = hang(five, startMs, startMs + 4 * hourMs, 4);
    expect(hanging.map((one) => [one.bed, one.share, one.lane])).toEqual([
      ['1', 25, 0],
      ['2', 25, 1],
      ['3', 25, 2],
    ]);
    expect(more).toEqual([{ share: 25, count: 2 }]);
  });

  it('keeps what was due long ago at its left end', async () => {
    const { replica } = await ward();
    const [late] = rowsOf(replica.ward('ward-one'), zone, directory);
    if (!late) throw new Error('no row');
    expect(hang([late], startMs, startMs + 4 * hourMs, 4).hanging[0]).toMatchObject({ share: 0, act: true });
  });
});

describe('rows under a thumb', () => {
  it('keep their places with new content until the thumb rests', () => {
    const row = (patient: string, bed: string) => ({ patient, bed }) as never as ReturnType<typeof rowOf>;
    const held = [row('a', '1'), row('b', '2'), row('c', '3')];
    const next = [row('c', '3'), row('d', '4'), row('a', '9')];
    expect(keepPlaces(held, next).map((one) => [one.patient, one.bed])).toEqual([
      ['a', '9'],
      ['c', '3'],
      ['d', '4'],
    ]);
  });
});
