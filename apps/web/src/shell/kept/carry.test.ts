// Proves     sealed entries are handed on in loads, whoever is there; what was taken leaves the tablet, what was not
//            stays; without the network it waits longer each time, and not at all once it is back
// Published  none
// Tolerance  exact, on timers that the test turns
import { afterEach, beforeEach, describe, expect, it, vi } from 'vitest';
import type { SealedEntry } from '@ebbline/store/sealed';
import { pageTimers } from '../clock.ts';
import type { Remote } from '../remote.ts';
import { carryOnce, keepCarrying } from './carry.ts';
import type { SealedRow } from './sealed-store.ts';

beforeEach(() => void vi.useFakeTimers());
afterEach(() => void vi.useRealTimers());

function tablet(count: number, letters = 10) {
  let rows: SealedRow[] = Array.from({ length: count }, (_, index) => ({
    id: `e-${String(index).padStart(3, '0')}`,
    key: 'k',
    author: index % 2 === 0 ? 'ida' : 'otto',
    box: 'x'.repeat(letters),
  }));
  const loads: (readonly SealedEntry[])[] = [];
  const holds = new Set<string>();
  const refuses = new Set<string>();
  const network = { cut: false };
  return {
    network,
    holds,
    refuses,
    loads,
    rows: () => rows,
    vault: {
      sealed: async () => rows,
      settled: async (ids: readonly string[]) => {
        rows = rows.filter(({ id }) => !ids.includes(id));
      },
    },
    remote: {
      carry: async (sealed) => {
        if (network.cut) return { state: 'away' };
        loads.push(sealed);
        const ids = sealed.map(({ id }) => id).filter((id) => !refuses.has(id));
        const held = ids.filter((id) => holds.has(id));
        return { state: 'reached', value: { kept: ids.filter((id) => !held.includes(id)), held } };
      },
    } satisfies Pick<Remote, 'carry'>,
  };
}

describe('carrying', () => {
  it('takes everything of everybody, in loads that a request can hold, and shows the carrier no author', async () => {
    const one = tablet(120);
    expect((await carryOnce(one.vault, one.remote)).settled).toHaveLength(120);
    expect(one.loads.map(({ length }) => length)).toEqual([50, 50, 20]);
    expect(Object.keys(one.loads[0]?.[0] ?? {})).toEqual(['id', 'key', 'box']);
    const large = tablet(3, 300_000);
    await carryOnce(large.vault, large.remote);
    expect(large.loads.map(({ length }) => length)).toEqual([1, 1, 1]);
  });

  it('leaves what is sent otherwise, takes off what the server holds, and keeps what it did not take', async () => {
    const one = tablet(4);
    one.holds.add('e-001');
    one.refuses.add('e-002');
    await carryOnce(one.vault, one.remote, new Set(['e-003']));
    expect(one.rows().map(({ id }) => id)).toEqual(['e-002', 'e-003']);
  });

  it('goes on while nobody is there: seldom without the network, at once when it is back, until it is stopped', async () => {
    const one = tablet(2);
    one.network.cut = true;
    const told: number[] = [];
    const asked = vi.spyOn(one.remote, 'carry');
    const page = new EventTarget();
    vi.stubGlobal('addEventListener', page.addEventListener.bind(page));
    vi.stubGlobal('removeEventListener', page.removeEventListener.bind(page));
    const stop = keepCarrying({
      vault: one.vault,
      remote: one.remote,
      timers: pageTimers,
      jitter: () => 1,
      first: async () => undefined,
      waiting: (count) => told.push(count),
    });
    await vi.advanceTimersByTimeAsync(62_000);
    expect(asked.mock.calls.length).toBe(6);
    one.network.cut = false;
    page.dispatchEvent(new Event('online'));
    await vi.advanceTimersByTimeAsync(0);
    expect([one.rows(), told.at(-1)]).toEqual([[], 0]);
    stop();
    const before = asked.mock.calls.length;
    page.dispatchEvent(new Event('online'));
    await vi.advanceTimersByTimeAsync(120_000);
    expect(asked.mock.calls.length).toBe(before);
    vi.unstubAllGlobals();
  });
});
