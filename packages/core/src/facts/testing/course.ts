/** One patient's course for tests of the facts: a watch opened, what was read and passed, and the facts at a time. */
import { defaultSettings, type UnitSettings } from '../../record/index.ts';
import { foldPatient } from '../fold.ts';
import type { PatientFacts } from '../types.ts';
import { maker, type Maker } from './make.ts';

/** Where the course happens. */
export const zone = 'Europe/London';

/** The facts as of `time`, under the shipped settings with `change` laid over them. */
export const at = (m: Maker, time: string, change: Partial<UnitSettings> = {}): PatientFacts =>
  foldPatient({
    patient: 'p-4',
    entries: m.entries,
    nowMs: m.at(time),
    settings: { ...defaultSettings, ...change },
    zone,
  });

/** A course with a watch opened at `from`. */
export const watched = (from = '08:00'): Maker => {
  const m = maker();
  m.add(from, 'watch-opened', { setting: 'after-surgery', reason: 'x' });
  return m;
};

/** Adds an exact reading, in millilitres, unrelated to a void unless `more` says so. */
export const read = (m: Maker, time: string, volumeMl: number, more: object = {}) =>
  m.add(time, 'reading', { result: 'exact', volumeMl, relation: 'no-void', doubts: [], ...more });

/** Adds a measured void, in millilitres. */
export const passed = (m: Maker, time: string, volumeMl: number) =>
  m.add(time, 'void', { how: 'measured', volumeMl });
