// Proves     folded as a board would, the made-up ward looks like a real evening: due before and after now, one owner each,
//            and the outcomes that the stories tell come out as facts
// Published  S-job-8b: drained 690 after 560 with 23 to 47 mL of filling: read 13 to 16 % low; 585 read, 90 drained; 1,180 mL late
// Tolerance  exact, per cents as printed
import { describe, expect, it } from 'vitest';
import { foldWard, type PatientFacts } from '@ebbline/core/facts';
import { orThrow, readInstant } from '@ebbline/core/quantity';
import { falseHighPatient } from '../stories/worked-false-high.ts';
import { kneePatient } from '../stories/worked-knee.ts';
import { silentMissPatient } from '../stories/worked-silent-miss.ts';
import { rightBedPatient, wrongBedPatient } from '../stories/worked-wrong-bed.ts';
import { demoWorld } from './demo-world.ts';
import { coastZone, liveWard } from './places.ts';

const nowMs = readInstant('2026-11-25T18:30:00+01:00') as number;
const { directory, entries } = demoWorld({ seed: 7, nowMs, pastEpisodes: 0 });
const settings = directory.wards[0]?.settings;
if (settings === undefined) throw new Error('the live ward comes first');
const ward = foldWard({ ward: liveWard, entries, nowMs, settings, zone: coastZone });
const of = (patient: string): PatientFacts => {
  const facts = ward.patients.find((one) => one.patient === patient);
  if (facts === undefined) throw new Error(`${patient} is not on the board`);
  return facts;
};

describe('the board of the made-up ward', () => {
  it('has 18 people on watch, something overdue, and more due within the hour', () => {
    expect(ward.counts.onWatch).toBe(18);
    expect(ward.counts.overdue).toBeGreaterThanOrEqual(1);
    expect(ward.counts.dueWithinHour).toBeGreaterThanOrEqual(8);
  });

  it('has an owner from the directory for everything that is due', () => {
    const people = new Set(directory.people.map((person) => person.id));
    for (const facts of ward.patients) {
      expect(facts.due.length, facts.patient).toBeGreaterThan(0);
      for (const item of facts.due)
        if (item.owner.kind === 'person') expect(people).toContain(item.owner.person);
    }
  });

  it('shows the knee patient drained of 690 mL, 560 read before, and the next look by 18:55', () => {
    const facts = of(kneePatient);
    expect(facts.limitMl).toBe(600);
    expect(facts.ownCapacityMl).toBe(620);
    const pair = facts.pairs.find((one) => one.drainedMl === 690);
    expect(pair?.readMl).toBe(560);
    expect(Math.round(pair?.differencePercent?.low ?? 0)).toBe(-16);
    expect(Math.round(pair?.differencePercent?.high ?? 0)).toBe(-13);
    expect(facts.residuals.find((one) => one.residualMl === 430)).toMatchObject({
      atLeast: true,
      late: true,
      sinceVoidMin: 32,
    });
    expect(facts.due[0]?.protocolDueAtMs).toBe(readInstant('2026-11-25T18:55:00+01:00'));
    expect(facts.due[0]?.dueAtMs).toBeLessThanOrEqual(orThrow(readInstant('2026-11-25T18:55:00+01:00')));
    expect(facts.lateDetections.map((one) => one.volumeMl)).toContain(690);
  });

  it('shows what was read much and drained little, with the other readings of that look beside it', () => {
    const pair = of(falseHighPatient).pairs[0];
    expect(pair).toMatchObject({ readMl: 585, drainedMl: 90, readMuchDrainedLittle: true });
    expect([...(pair?.besideMl ?? [])].sort((a, b) => a - b)).toEqual([520, 610]);
  });

  it('counts 1,180 mL after two voids that nobody measured as found late', () => {
    const facts = of(silentMissPatient);
    expect(facts.lateDetections.map((one) => one.volumeMl)).toEqual([1180]);
    expect(facts.totals.unmeasuredVoids).toBe(2);
    expect(facts.catheter.inPlace).toBe(true);
  });

  it('has the moved reading with its right patient, and the decision made on 45 mL to be reviewed', () => {
    expect(of(rightBedPatient).readings.map((one) => one.volumeMl)).toEqual([450]);
    expect(of(wrongBedPatient).readings.map((one) => one.volumeMl)).toEqual([]);
    expect(of(wrongBedPatient).toReview.length).toBeGreaterThanOrEqual(1);
  });

  it('gives no estimate under irrigation or with ascites', () => {
    expect(of('patient-irrigation').estimate).toHaveProperty('notValid');
    expect(of('patient-ascites').estimate).toHaveProperty('notValid');
  });

  it('keeps the giver as owner while a handover waits, a call open while nobody answers, and a pause with its end', () => {
    const onTheWay = of('patient-on-the-way');
    expect(onTheWay.offers).toHaveLength(1);
    expect(onTheWay.owner).toEqual({ kind: 'person', person: 'kaspar-thane' });
    expect(of('patient-no-answer').calls).toHaveLength(1);
    expect(of('patient-theatre').watch).toMatchObject({ state: 'paused', pauseReason: 'theatre' });
    expect(of('patient-overdue').due[0]).toMatchObject({ overdue: true, overdueMin: 42 });
    expect(of('patient-declined').declined).toEqual(['bladder-ultrasound']);
  });
});
