// Proves     sessions and tries hold the same wherever they are kept
// Published  none: the ports' own promises (sessions.ts, tries.ts)
// Tolerance  exact; the test's own clock
import { describe, expect, it } from 'vitest';
import { minuteMs } from '@ebbline/core/quantity';
import type { LockAfterS, Sessions } from './sessions.ts';
import { freeTries, type Tries } from './tries.ts';

const startMs = Date.parse('2026-05-12T08:00:00Z');
const after = (count: number): number => startMs + count * minuteMs;

/** @param open nothing is kept yet in what it gives */
export function sessionsContract(name: string, open: (lockAfterS: LockAfterS) => Promise<Sessions>): void {
  describe(`sessions in ${name}`, () => {
    it('are found by their token alone, until they end', async () => {
      const sessions = await open(() => 60);
      const token = await sessions.open('nurse', startMs);
      const other = await sessions.open('nurse', startMs);
      expect(token).not.toBe(other);
      expect(await sessions.find(token, startMs)).toMatchObject({
        state: 'live',
        session: { person: 'nurse', openedMs: startMs },
      });
      expect(await sessions.find('made-up', startMs)).toBeUndefined();
      expect(await sessions.find(undefined, startMs)).toBeUndefined();
      await sessions.end(token);
      await sessions.end(undefined);
      expect(await sessions.find(token, startMs)).toBeUndefined();
      expect((await sessions.find(other, startMs))?.state).toBe('live');
    });

    it('[H12-idle] rest no longer than fifteen times the lock time of the ward, and go on while in use', async () => {
      const sessions = await open(() => 120);
      const token = await sessions.open('nurse', startMs);
      expect((await sessions.find(token, after(30) - 1))?.state).toBe('live');
      expect((await sessions.find(token, after(30)))?.state).toBe('idle');
      await sessions.use(token, after(29));
      expect((await sessions.find(token, after(30)))?.state).toBe('live');
    });

    it('[H12-idle] stay locked whoever uses them', async () => {
      const sessions = await open(() => 60);
      const token = await sessions.open('nurse', startMs);
      await sessions.lock(token);
      await sessions.use(token, after(1));
      expect(await sessions.find(token, after(1))).toMatchObject({
        state: 'idle',
        session: { person: 'nurse', openedMs: startMs },
      });
    });

    it('say once that the record is read for the first time', async () => {
      const sessions = await open(() => 60);
      const token = await sessions.open('nurse', startMs);
      const asked = await Promise.all([1, 2, 3, 4].map(() => sessions.firstReading(token)));
      expect(asked.filter((first) => first)).toHaveLength(1);
      expect(await sessions.firstReading(token)).toBe(false);
      expect(await sessions.firstReading('made-up')).toBe(false);
    });

    it('are over and swept away once their shift is', async () => {
      const sessions = await open(() => 60 * 60);
      let last = '';
      for (let index = 0; index < 5; index += 1) last = await sessions.open('nurse', startMs + index);
      await sessions.open('nurse', after(5), startMs);
      expect(await sessions.count(after(10))).toBe(6);
      expect(await sessions.find(last, after(13 * 60) + 4)).toBeUndefined();
      expect(await sessions.count(after(13 * 60) + 4)).toBe(0);
    });
  });
}

export function triesContract(name: string, open: (kind: string) => Promise<Tries>): void {
  describe(`tries in ${name}`, () => {
    it('[H12-tries] wait twice as long after each wrong one from the fifth on, and a right one clears the count', async () => {
      const tries = await open('secret');
      for (let count = 1; count <= freeTries; count += 1) expect(await tries.begin('nurse', startMs)).toBe(0);
      expect(await tries.begin('nurse', startMs)).toBe(2_000);
      expect(await tries.count('nurse')).toBe(freeTries);
      expect(await tries.begin('nurse', startMs + 2_000)).toBe(0);
      expect(await tries.begin('nurse', startMs + 2_000)).toBe(4_000);
      for (let ms = startMs + 6_000; (await tries.count('nurse')) < 40; ms += 900_000)
        expect(await tries.begin('nurse', ms)).toBe(0);
      expect(await tries.begin('nurse', startMs)).toBeGreaterThan(900_000);
      expect(await tries.begin('aide', startMs)).toBe(0);
      await tries.right('nurse');
      expect([await tries.count('nurse'), await tries.count('aide')]).toEqual([0, 1]);
    });

    it('wait no longer than the pace that is asked for', async () => {
      const tries = await open('secret');
      const pace = { free: 2, longestMs: 3_000 };
      expect(await tries.begin('ward', startMs, pace)).toBe(0);
      expect(await tries.begin('ward', startMs, pace)).toBe(0);
      expect(await tries.begin('ward', startMs, pace)).toBe(2_000);
      expect(await tries.begin('ward', startMs + 2_000, pace)).toBe(0);
      expect(await tries.begin('ward', startMs + 2_000, pace)).toBe(3_000);
    });

    it('[H12-tries] are no more by asking many at once', async () => {
      const tries = await open('secret');
      const waits = await Promise.all(Array.from({ length: 20 }, () => tries.begin('nurse', startMs)));
      expect(waits.filter((wait) => wait === 0)).toHaveLength(freeTries);
    });

    it('count up to a most, then no more, also when many ask at once', async () => {
      const tries = await open('pin');
      const asked = await Promise.all(
        Array.from({ length: 12 }, () => tries.beginOf(freeTries, 'nurse', startMs)),
      );
      expect(asked.filter((may) => may)).toHaveLength(freeTries);
      expect(await tries.count('nurse')).toBe(freeTries);
      expect(await (await open('secret')).count('nurse')).toBe(0);
    });
  });
}
