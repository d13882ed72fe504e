// Proves     what is said in a call fits into thirty seconds and names what the called one needs.
// Published  budget of 30 s read aloud: the product's own, at 170 words a minute (from memory).
// Tolerance  exact.
import { describe, expect, it } from 'vitest';
import { foldPatient, patientsIn } from '@ebbline/core/facts';
import { clockOrDay } from '@ebbline/core/present';
import { demoWorld } from '@ebbline/simulate';
import { defaultSettings } from '@ebbline/core/record';
import { secondsAloud, telephoneOf } from './telephone.ts';
import { at, entry, request, zone, workedEntries } from './testing/worked-patient.ts';

describe('what to say in a call', () => {
  it('names bed, reading, last emptying, estimate, limit and the advised step', () => {
    const facts = foldPatient(request);
    const words = Object.values(telephoneOf(facts, zone)).join(' ');
    // The row says by 18:55; the forecast may bring it forward.
    const due = facts.due[0]?.dueAtMs ?? 0;
    expect(due).toBeLessThanOrEqual(at('18:55'));
    expect(words).toContain(`look again, by ${clockOrDay(due, facts.nowMs, zone)}`);
    for (const part of ['Bed 4, 72-year-old woman', '560 mL at 15:56', 'drained 690 mL', 'limit is 600 mL'])
      expect(words).toContain(part);
  });

  it('asks first what was asked for in the call', () => {
    const call = entry('18:00', 'call-made', {
      to: 'M.O.',
      toRole: 'called-clinician',
      ask: 'Please come and examine',
      replyDueAt: '2026-05-14T18:15:00Z',
    });
    const facts = foldPatient({ ...request, entries: [...workedEntries, call], nowMs: at('18:05') });
    expect(telephoneOf(facts, zone).request).toMatch(/^Please come and examine\./);
  });

  it('is read aloud in thirty seconds for every patient on watch in the made-up world', () => {
    const nowMs = at('18:30');
    const world = demoWorld({ seed: 6, nowMs });
    let said = 0;
    for (const patient of patientsIn(world.entries)) {
      const facts = foldPatient({
        patient,
        entries: world.entries.filter((one) => one.patient === patient),
        nowMs,
        settings: defaultSettings,
        zone,
      });
      if (facts.watch.state !== 'open') continue;
      said += 1;
      const sbar = telephoneOf(facts, zone);
      expect(secondsAloud(sbar), Object.values(sbar).join(' ')).toBeLessThanOrEqual(30);
    }
    expect(said).toBeGreaterThan(5);
  });
});
