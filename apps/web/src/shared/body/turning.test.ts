// Proves     the body turns round and round, tips only until upright, and its scale bar is as long as it says.
import { describe, expect, it } from 'vitest';
import { enlarged, heldAfterKey, heldAtFirst, heldWords, scaleBar, turned } from './turning.ts';

describe('turning the body', () => {
  it('goes on from the other side after half a round', () => {
    expect(turned({ turnDeg: 170, tipDeg: 0, larger: 1 }, 20, 0).turnDeg).toBe(-170);
    expect(turned({ turnDeg: -170, tipDeg: 0, larger: 1 }, -20, 0).turnDeg).toBe(170);
    let held = heldAtFirst;
    for (let step = 0; step < 24; step += 1) held = turned(held, 15, 0);
    expect(held.turnDeg).toBeCloseTo(heldAtFirst.turnDeg, 9);
  });
  it('stops upright, and at a quarter and four times the size', () => {
    expect(turned(heldAtFirst, 0, 500).tipDeg).toBe(90);
    expect(turned(heldAtFirst, 0, -500).tipDeg).toBe(-90);
    expect(enlarged(heldAtFirst, 100).larger).toBe(4);
    expect(enlarged(heldAtFirst, 0.001).larger).toBe(0.5);
  });
  it('listens to arrows, plus, minus and Home, and to nothing else', () => {
    expect(heldAfterKey(heldAtFirst, 'ArrowLeft')?.turnDeg).toBe(15);
    expect(heldAfterKey(heldAtFirst, 'ArrowDown')?.tipDeg).toBe(35);
    expect(heldAfterKey(heldAtFirst, '+')?.larger).toBe(1.25);
    const far = turned(enlarged(heldAtFirst, 2), 90, 30);
    expect(heldAfterKey(far, 'Home')).toEqual(heldAtFirst);
    expect(heldAfterKey(far, 'Tab')).toBeUndefined();
  });
  it('draws a bar of a round length that fits', () => {
    expect(scaleBar(0.5, 120)).toEqual({ mm: 50, px: 100 });
    expect(scaleBar(0.1, 120)).toEqual({ mm: 10, px: 100 });
    expect(scaleBar(1.1, 120)).toEqual({ mm: 100, px: 100 / 1.1 });
  });
  it('says how it is held', () => {
    expect(heldWords({ turnDeg: 0, tipDeg: 0, larger: 1 })).toBe('seen from the front');
    expect(heldWords({ turnDeg: -45, tipDeg: 30, larger: 1 })).toBe(
      'turned 45° to the left, tipped 30° towards you',
    );
    expect(heldWords({ turnDeg: 180, tipDeg: -90, larger: 1 })).toBe(
      'seen from the back, tipped 90° away from you',
    );
  });
});
