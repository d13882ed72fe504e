// Proves     the table of roles against a list written here by hand: who opens a patient, who records what was measured or
//            drained, who exports. The server's own test asks whether it enforces the table; this one what stands in it.
// Published  none: the division of work is the product's
// Tolerance  exact
import { describe, expect, it } from 'vitest';
import { mayView, mayWrite, views, type View } from './permissions.ts';
import { entryKinds } from './kinds.ts';
import { roles } from './words.ts';

const whoView = (view: View): readonly string[] => roles.filter((role) => mayView(role, view)).sort();
const bedside = ['charge-nurse', 'midwife', 'nurse', 'specialist-nurse'];

describe('who may open', () => {
  it.each<[View, readonly string[]]>([
    ['patient', ['aide', 'called-clinician', ...bedside, 'integration']],
    ['handover', bedside],
    ['practice', ['aide', 'assessor', 'called-clinician', ...bedside]],
    ['audit', ['privacy-officer']],
    ['people', ['administrator']],
    ['operations', ['administrator']],
    ['import', ['integration']],
    ['export', ['analyst', 'integration']],
    ['settings', ['administrator', 'specialist-nurse']],
  ])('%s is these roles and no others', (view, who) => {
    expect(whoView(view)).toEqual([...who].sort());
  });
  it('every view is somebody', () => {
    for (const view of views) expect(whoView(view).length, view).toBeGreaterThan(0);
  });
});

describe('who may record', () => {
  const whoWrite = (kind: (typeof entryKinds)[number]): readonly string[] =>
    roles.filter((role) => mayWrite(role, kind)).sort();
  it('what was measured, drained or placed is bedside nurses and the systems they use', () => {
    for (const kind of [
      'reading',
      'drained',
      'catheter-placed',
      'watch-closed',
      'ownership-accepted',
    ] as const)
      expect(whoWrite(kind), kind).toEqual([...bedside, 'integration'].sort());
  });
  it('what was passed or said is the aide too', () => {
    for (const kind of ['void', 'intake', 'symptom', 'bag-read'] as const)
      expect(whoWrite(kind), kind).toEqual(['aide', ...bedside, 'integration'].sort());
  });
  it('nothing at all is those who only look', () => {
    for (const role of [
      'assessor',
      'clinical-engineer',
      'manager',
      'privacy-officer',
      'analyst',
      'administrator',
    ] as const)
      expect(
        entryKinds.filter((kind) => mayWrite(role, kind)),
        role,
      ).toEqual([]);
  });
  it('practice is whoever stands at the bedside, about themselves, and no system', () => {
    expect(whoWrite('practised')).toEqual(['aide', 'called-clinician', ...bedside].sort());
  });
  it('every kind is somebody', () => {
    for (const kind of entryKinds) expect(whoWrite(kind).length, kind).toBeGreaterThan(0);
  });
});
