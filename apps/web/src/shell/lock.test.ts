// Proves     a tablet that nobody touches locks, and its content then is not in the page
// Published  none
// Tolerance  exact
import { describe, expect, it } from 'vitest';
import { createElement } from 'react';
import { renderToStaticMarkup } from 'react-dom/server';
import { App } from './app.tsx';
import { shouldLock } from './lock.ts';
import type { SessionState } from './session.ts';
import { fakeRecord, nurse, openTablet, otherNurse } from './testing/fakes.ts';

const nowMs = 1_800_000_000_000;

describe('the lock', () => {
  it("[H12-lock] locks when nobody has touched the tablet for the unit's seconds, and not before", () => {
    expect(shouldLock({ lastTouchMs: nowMs - 60_000, nowMs, lockAfterS: 60 })).toBe(true);
    expect(shouldLock({ lastTouchMs: nowMs - 59_999, nowMs, lockAfterS: 60 })).toBe(false);
  });

  it('[H12-lock] locks when the clock was set back', () => {
    expect(shouldLock({ lastTouchMs: nowMs + 3_600_000, nowMs, lockAfterS: 60 })).toBe(true);
  });

  it('[H12-lock] leaves nothing of the content in the page, and no name', async () => {
    const { replica } = await openTablet(fakeRecord());
    const frame = createElement('p', {}, 'Tess Marsh, bed 4');
    const page = (state: SessionState): string => {
      const session = { subscribe: () => () => undefined, current: () => state };
      return renderToStaticMarkup(createElement(App, { session, frame }));
    };
    expect(page({ at: 'in', me: nurse, replica })).toContain('Marsh');
    const locked = page({
      at: 'locked',
      me: nurse,
      people: [nurse, otherNurse],
      ended: false,
      waiting: 2,
      replica,
    });
    expect(locked).not.toContain('Marsh');
    expect(locked).not.toContain(nurse.name);
    expect(locked).toContain('Locked');
    expect(locked).toContain('2 entries wait for the network; they are safe on this tablet.');
  });
});
