// Proves     the quick angle of a point below the probe is the angle.
// Published  the engine's own arctangent; the bound is that of the published polynomial (S-imaging-arctangent)
// Tolerance  1.2e-5 rad
import { describe, expect, it } from 'vitest';
import { angleFromDown } from './angle.ts';

describe('the angle of a point against the beam straight down', () => {
  it('is the arctangent of the two distances, on both sides and out to the horizontal', () => {
    let worst = 0;
    for (let turn = -900; turn <= 900; turn += 1) {
      const angle = (turn * Math.PI) / 1800;
      const s = 70 * Math.sin(angle);
      const d = Math.max(0, 70 * Math.cos(angle));
      worst = Math.max(worst, Math.abs(angleFromDown(s, d) - Math.atan2(s, d)));
    }
    expect(worst).toBeLessThan(1.2e-5);
    expect(worst).toBeGreaterThan(0);
  });
});
