// Proves     what was shown is on the tablet before anything is sent, outlives the page, is told until it is taken, once a
//            minute for the same look, and with ids alone
// Published  none
// Tolerance  exact, on a clock and timers of the test's own
import 'fake-indexeddb/auto';
import { describe, expect, it } from 'vitest';
import type { Timers } from './clock.ts';
import { createViewLog, indexedShelf, type ShownView, type ViewShelf } from './view-log.ts';

const startMs = Date.parse('2026-05-12T08:00:00Z');

function scene(shelf: ViewShelf = indexedShelf(new IDBFactory())) {
  const sent: string[][] = [];
  const scene = { nowMs: startMs, reached: true, sent, due: undefined as (() => void) | undefined };
  const timers: Timers = {
    set: (work) => ((scene.due = work), 1),
    clear: () => void (scene.due = undefined),
  };
  let count = 0;
  const log = createViewLog({
    shelf,
    send: async (views: readonly ShownView[]) => {
      if (scene.reached) sent.push(views.map(({ person, shown, at }) => `${person} ${shown} ${at}`));
      return scene.reached;
    },
    now: () => scene.nowMs,
    random: (length) => Array.from({ length }, () => (count += 1) % 256),
    timers,
  });
  return { ...scene, scene, log, shelf };
}
const settled = () => new Promise((resolve) => setTimeout(resolve, 5));

describe('what a tablet has shown', () => {
  it('waits on the tablet while the record is out of reach, outlives the page, and is told once', async () => {
    const first = scene();
    first.scene.reached = false;
    first.log.note({ person: 'kl', shown: 'patient', patient: 'p-1' });
    first.scene.nowMs += 60_000;
    first.log.note({ person: 'da', shown: 'board', ward: 'w' });
    await settled();
    await first.log.tell();
    expect(await first.shelf.first(9)).toHaveLength(2);
    // Another page on the same tablet.
    const second = scene(first.shelf);
    await second.log.tell();
    await second.log.tell();
    expect(second.scene.sent).toEqual([
      ['kl patient 2026-05-12T08:00:00.000Z', 'da board 2026-05-12T08:01:00.000Z'],
    ]);
    expect(await first.shelf.first(9)).toEqual([]);
  });

  it('is one look for the same page, person and patient within a minute, and another after it', async () => {
    const { log, scene: at, shelf } = scene();
    for (const seconds of [0, 20, 20, 19, 2]) {
      at.nowMs += seconds * 1000;
      log.note({ person: 'kl', shown: 'patient', patient: 'p-1' });
    }
    log.note({ person: 'da', shown: 'patient', patient: 'p-1' });
    log.note({ person: 'kl', shown: 'patient', patient: 'p-2' });
    await settled();
    expect((await shelf.first(9)).map(({ person, patient }) => `${person} ${patient}`).sort()).toEqual([
      'da p-1',
      'kl p-1',
      'kl p-1',
      'kl p-2',
    ]);
  });

  it('is told again later when it was not taken, and nothing is asked of the timer when it was', async () => {
    const { log, scene: at } = scene();
    at.reached = false;
    log.note({ person: 'kl', shown: 'board' });
    await settled();
    expect(at.due).toBeDefined();
    await log.tell();
    expect(at.due).toBeDefined();
    at.due = undefined;
    at.reached = true;
    await log.tell();
    expect(at.sent).toHaveLength(1);
    expect(at.due).toBeUndefined();
  });
});
