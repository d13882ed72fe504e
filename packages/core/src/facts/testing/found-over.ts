/** Somebody found over the limit: read at 220 mL, passed 60 mL, read at 640 mL and drained of 690 mL; and what looking back says. */
import { lookBackAt, type LookBack } from '../looking-back.ts';
import type { PatientFacts } from '../types.ts';
import { passed, read, watched, zone } from './course.ts';
import type { Maker } from './make.ts';

export function filled(): Maker {
  const m = watched('08:00');
  m.add('08:01', 'context', { topic: 'limit-ml', value: 500, limitSource: 'prescriber' });
  read(m, '08:10', 220);
  passed(m, '10:00', 60);
  read(m, '12:30', 640);
  m.add('12:50', 'drained', { route: 'in-out', volumeMl: 690 });
  return m;
}

export const backOf = (facts: PatientFacts, index = 0): LookBack => {
  const late = facts.lateDetections[index];
  if (late === undefined) throw new Error('nobody was found over the limit');
  const back = lookBackAt(late, facts, zone);
  if ('notValid' in back) throw new Error(back.notValid);
  return back;
};
