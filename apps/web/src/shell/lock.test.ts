// Proves     a tablet that nobody touches locks, its content then is not in the page, and a PIN is checked without the network
// Published  PBKDF2 with SHA-256: the vectors of RFC 7914 section 11 (S-rfc-7914)
// Tolerance  exact
import { describe, expect, it } from 'vitest';
import { createElement } from 'react';
import { renderToStaticMarkup } from 'react-dom/server';
import { App } from './app.tsx';
import { digestPin, pinMatches, shouldLock, waitAfterWrong } from './lock.ts';
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
    const locked = page({ at: 'locked', me: nurse, people: [nurse, otherNurse], ended: false, replica });
    expect(locked).not.toContain('Marsh');
    expect(locked).not.toContain(nurse.name);
    expect(locked).toContain('Locked');
  });
});

describe('a PIN without the network', () => {
  const hex = (text: string): Uint8Array => new TextEncoder().encode(text);

  it('is digested as the standard says', async () => {
    const made = await digestPin('passwd', hex('salt'), 1);
    expect(made?.digestHex).toBe('55ac046e56e3089fec1691c22544b605f94185216dde0465e68b9d57c20dacbc');
    const more = await digestPin('Password', hex('NaCl'), 80_000);
    expect(more?.digestHex).toBe('4ddcd8f60b98be21830cee5ef22701f9641a4418d04c0414aeff08876b34ab56');
  });

  it('opens for the right PIN alone', async () => {
    const kept = await digestPin('1234', hex('some salt here'), 1000);
    if (!kept) throw new Error('no digest');
    expect(await pinMatches('1234', kept)).toBe(true);
    expect(await pinMatches('1235', kept)).toBe(false);
    expect(await pinMatches('', kept)).toBe(false);
  });

  it('makes guessing slow after the fourth wrong try', () => {
    expect([1, 4, 5, 6, 20].map(waitAfterWrong)).toEqual([0, 0, 30, 60, 900]);
  });
});
