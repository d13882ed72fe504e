// Proves     each safety law refuses a table that breaks it, whoever wrote the table; a child and another setting
//            are refused; a reading at the limit counts as over; a look is brought forward and never put back.
// Method     one-row protocols that answer any patient with one step, so that only the second lock can refuse
// Tolerance  exact
import { isRefusal, orThrow, type Refusal } from '@ebbline/core/quantity';
import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { adviceLine, answerProtocol, shortestLookMin } from './answer-protocol.ts';
import { stepsByGentleness, gentleness, type Advice } from './advice.ts';
import type { CompiledProtocol } from './compile-protocol.ts';
import type { Scalar } from './compile-table.ts';
import type { ProtocolInput } from './dictionary.ts';
import { starterFor } from './starters.ts';
import { comfortable } from './testing/patients.ts';

/** A protocol whose one row gives this answer to anyone. */
function always(answer: Partial<Record<string, Scalar>>): CompiledProtocol {
  const values: Record<string, Scalar> = {
    step: 'look-again',
    dueInMin: 60,
    ownerRole: 'nurse',
    tell: null,
    why: 'Because it says so.',
    record: null,
    sourceId: 'unit choice',
    ...answer,
  };
  return {
    id: 'made-for-a-test',
    version: 1,
    title: 'Made for a test',
    approval: 'example-not-approved',
    settings: ['after-surgery'],
    ageBands: ['adult', 'over-75'],
    lowResidualBelowMl: 100,
    lowResidualsToEnd: 2,
    tables: [
      {
        decision: 'Advice',
        hitPolicy: 'UNIQUE',
        inputs: ['trigger'],
        outputs: Object.keys(values),
        rows: [{ id: 'T-01', tests: [0], values: Object.values(values) }],
      },
    ],
  };
}

const answer = (step: string, patient: Partial<ProtocolInput>, dueInMin = 60): Advice | Refusal =>
  answerProtocol(always({ step, dueInMin }), { ...comfortable, ...patient });
const codeOf = (result: Advice | Refusal): string =>
  isRefusal(result) ? result.code : `answered ${result.step}`;
const unsafe = 'protocol/unsafe-answer';
const { volumeMl: _, ...noVolume } = comfortable;

describe('second lock', () => {
  it.each(['look-again', 'promote-voiding', 'watch-can-end', 'review-catheter', 'remove-catheter'])(
    '[no-wait-over-limit] refuses "%s" at or above the limit',
    (step) => {
      expect(codeOf(answer(step, { overLimit: 'yes' }))).toBe(unsafe);
      expect(codeOf(answer(step, { overLimit: 'no' }))).toBe(`answered ${step}`);
    },
  );

  it.each(['look-again', 'measure-again-now', 'drain-in-out', 'check-catheter'])(
    '[discomfort-is-examined] refuses "%s" in discomfort',
    (step) => {
      expect(codeOf(answer(step, { discomfort: true }))).toBe(unsafe);
      expect(codeOf(answer('examine-now', { discomfort: true }, 0))).toBe('answered examine-now');
    },
  );

  it('[discomfort-is-examined] refuses to examine, or to call, later than 15 minutes in discomfort', () => {
    for (const step of ['examine-now', 'call-clinician'])
      expect([15, 16].map((due) => codeOf(answer(step, { discomfort: true }, due)))).toEqual([
        `answered ${step}`,
        unsafe,
      ]);
  });

  it.each(['look-again', 'drain-in-out', 'examine-now'])(
    '[red-flag-reaches-person] refuses "%s" with a red flag',
    (step) => {
      expect(codeOf(answer(step, { redFlag: 'fever-or-rigors' }, 0))).toBe(unsafe);
    },
  );

  it('[red-flag-reaches-person] refuses to reach a person later than 15 minutes', () => {
    expect(
      [15, 16].map((due) => codeOf(answer('call-clinician', { redFlag: 'clots-or-blocked' }, due))),
    ).toEqual(['answered call-clinician', unsafe]);
    expect(codeOf(answer('emergency', { redFlag: 'dysreflexia-signs' }, 16))).toBe(unsafe);
  });

  it.each(['look-again', 'promote-voiding'])(
    '[due-look-is-done] refuses "%s" later than an hour when a look is due already',
    (step) => {
      expect([60, 61].map((due) => codeOf(answer(step, { trigger: 'time' }, due)))).toEqual([
        `answered ${step}`,
        unsafe,
      ]);
      expect(codeOf(answer(step, { trigger: 'reading' }, 61))).toBe(`answered ${step}`);
    },
  );

  it('[red-flag-reaches-person] refuses anything but the emergency row for signs of dysreflexia', () => {
    expect(codeOf(answer('call-clinician', { redFlag: 'dysreflexia-signs' }, 0))).toBe(unsafe);
    expect(codeOf(answer('emergency', { redFlag: 'dysreflexia-signs' }, 0))).toBe('answered emergency');
    expect(codeOf(answer('call-clinician', { redFlag: 'clots-or-blocked' }, 0))).toBe(
      'answered call-clinician',
    );
  });

  it.each(['recent-urethral-or-bladder-surgery', 'stricture', 'refusal', 'reading-unreliable'] as const)(
    '[do-not-drain] refuses a drain against %s',
    (doNotDrain) => {
      expect(codeOf(answer('drain-in-out', { doNotDrain, volumeMl: 700, overLimit: 'yes' }))).toBe(unsafe);
      expect(codeOf(answer('leave-catheter-and-plan', { doNotDrain, volumeMl: 700, overLimit: 'yes' }))).toBe(
        unsafe,
      );
    },
  );

  it('[do-not-drain] refuses a drain on an unreliable reading', () => {
    expect(codeOf(answer('drain-in-out', { trust: 'unreliable', volumeMl: 700, overLimit: 'yes' }))).toBe(
      unsafe,
    );
    expect(codeOf(answer('drain-in-out', { volumeMl: 700, overLimit: 'yes' }))).toBe('answered drain-in-out');
  });

  it('[drain-needs-reading] refuses a drain without a volume', () => {
    expect(
      codeOf(
        answerProtocol(always({ step: 'drain-in-out' }), {
          ...noVolume,
          volumeKind: 'missing',
          overLimit: 'yes',
        }),
      ),
    ).toBe(unsafe);
  });

  it.each([
    'look-again',
    'promote-voiding',
    'measure-again-now',
    'measure-residual',
    'watch-can-end',
    'drain-in-out',
  ])('[no-look-through-catheter] refuses "%s" with a catheter in place', (step) => {
    expect(codeOf(answer(step, { catheterInPlace: true }))).toBe(unsafe);
    expect(codeOf(answer('check-catheter', { catheterInPlace: true }))).toBe('answered check-catheter');
  });

  it.each([
    ['no due time', { dueInMin: null }],
    ['a due time before now', { dueInMin: -1 }],
    ['a due time after two days', { dueInMin: 2881 }],
    ['no owner', { ownerRole: null }],
    ['an owner that is no role', { ownerRole: 'somebody' }],
    ['no reason', { why: ' ' }],
    ['a range that ends before it is due', { noLaterThanMin: 59 }],
    ['a range that ends after two days', { noLaterThanMin: 2881 }],
    ['a range for a step that is no look', { step: 'measure-residual', noLaterThanMin: 90 }],
  ])('[owner-and-due] refuses an answer with %s', (_name, part) => {
    expect(codeOf(answerProtocol(always(part), comfortable))).toBe(unsafe);
  });

  it('takes a row with a range, and leaves the range out where the limit could be reached before the due time', () => {
    const ranged = always({ noLaterThanMin: 90 });
    expect(orThrow(answerProtocol(ranged, comfortable))).toMatchObject({ dueInMin: 60, noLaterThanMin: 90 });
    expect(orThrow(answerProtocol(ranged, { ...comfortable, crossingInMin: 30 }))).not.toHaveProperty(
      'noLaterThanMin',
    );
    expect(orThrow(answerProtocol(always({}), comfortable))).not.toHaveProperty('noLaterThanMin');
  });

  it('refuses a step that does not exist', () => expect(codeOf(answer('wait-and-see', {}))).toBe(unsafe));

  it('says which row, which law, and what to do', () => {
    const refusal = answer('look-again', { overLimit: 'yes' }) as Refusal;
    expect(refusal.found).toContain('T-01');
    expect(refusal.allowed).toContain('no waiting step at or above the limit');
    expect(refusal.todo).toContain('without the protocol');
  });
});

describe('whom a protocol is for', () => {
  it('[adult-rows-only] refuses a child where the rows answer adults too, whatever the protocol says of itself', () => {
    const mixed: CompiledProtocol = { ...always({}), ageBands: ['child', 'adult'] };
    expect(codeOf(answerProtocol(mixed, { ...comfortable, ageBand: 'child' }))).toBe('protocol/adults-only');
    expect(codeOf(answerProtocol(mixed, comfortable))).toBe('answered look-again');
  });

  it('refuses tables that go in a circle, or ask nobody, instead of answering from nothing', () => {
    const [only] = always({}).tables as [CompiledProtocol['tables'][number]];
    for (const name of ['Advice', 'Later', 'nobody']) {
      const circle = { ...always({}), tables: [{ ...only, inputs: [name] }] };
      expect(codeOf(answerProtocol(circle, comfortable))).toBe('protocol/chain-does-not-end');
    }
    expect(codeOf(answerProtocol({ ...always({}), tables: [only, only] }, comfortable))).toBe(
      'protocol/chain-does-not-end',
    );
  });

  it('[adult-rows-only] refuses a child by a code of its own', () => {
    expect(codeOf(answer('look-again', { ageBand: 'child' }))).toBe('protocol/adults-only');
  });
  it('refuses another setting', () =>
    expect(codeOf(answer('look-again', { setting: 'after-birth' }))).toBe('protocol/other-setting'));
});

describe('at the limit', () => {
  it('[at-limit-is-over] a reading at the limit counts as over it, though the estimate says no', () => {
    expect(codeOf(answer('look-again', { volumeMl: 600, limitMl: 600, overLimit: 'no' }))).toBe(unsafe);
    expect(
      codeOf(
        answer('look-again', { volumeMl: 600, volumeKind: 'at-least', limitMl: 600, overLimit: 'possible' }),
      ),
    ).toBe(unsafe);
    expect(codeOf(answer('look-again', { volumeMl: 599, limitMl: 600 }))).toBe('answered look-again');
  });
  it('a drained volume is out already and counts for nothing', () => {
    expect(codeOf(answer('look-again', { trigger: 'drained', volumeMl: 690, limitMl: 600 }))).toBe(
      'answered look-again',
    );
  });
});

describe('due time and the forecast', () => {
  it('[look-before-crossing] brings a look forward to the earliest crossing, and says so', () => {
    const advice = orThrow(answer('look-again', { crossingInMin: 42.7 }));
    expect(advice.dueInMin).toBe(42);
    expect(advice.why).toContain('from 60 to 42 minutes');
    expect(advice.row.text).toBe('Because it says so.');
  });
  it('never puts a look back, nor asks for one in less than 15 minutes unless the row does', () => {
    fc.assert(
      fc.property(
        fc.integer({ min: 0, max: 2880 }),
        // Tenths of a minute, evenly: a float drawn by its bits is hardly ever above 1.
        fc.integer({ min: 0, max: 30_000 }).map((tenths) => tenths / 10),
        (dueInMin, crossingInMin) => {
          const advice = orThrow(answerProtocol(always({ dueInMin }), { ...comfortable, crossingInMin }));
          expect(advice.dueInMin).toBeLessThanOrEqual(dueInMin);
          expect(advice.dueInMin).toBeLessThanOrEqual(Math.max(shortestLookMin, crossingInMin));
          expect(advice.dueInMin).toBeGreaterThanOrEqual(Math.min(shortestLookMin, dueInMin));
        },
      ),
      { seed: 11, numRuns: 500 },
    );
  });
  it('leaves other steps where they are', () =>
    expect(orThrow(answer('measure-residual', { crossingInMin: 1 })).dueInMin).toBe(60));
});

describe('what an answer carries', () => {
  it('its protocol, that it is an example, the rows passed, and one line', () => {
    const advice = orThrow(answerProtocol(starterFor('after-surgery') as CompiledProtocol, comfortable));
    expect(advice.protocol).toEqual({
      id: 'after-surgery',
      version: 1,
      title: 'After surgery',
      approval: 'example-not-approved',
    });
    expect(advice.trace.at(-1)).toBe(advice.row.id);
    expect(adviceLine(advice)).toBe('Look again within 90 minutes (nurse): row AS-31');
  });
});

describe('order of steps', () => {
  it('runs from the end of the watch to the emergency', () => {
    expect(stepsByGentleness[0]).toBe('watch-can-end');
    expect(stepsByGentleness.at(-1)).toBe('emergency');
    expect(gentleness['examine-now']).toBeGreaterThan(gentleness['drain-in-out']);
  });
});
