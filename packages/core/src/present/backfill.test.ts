// Proves     a void trial by backfill is said with what was put in, what was passed and its share, rounded down; nothing is said
//            of a share that is not known. Tolerance exact words.
import { describe, expect, it } from 'vitest';
import type { BackfillFact, PatientFacts } from '../facts/index.ts';
import { backfillSentence } from './backfill.ts';

const nowMs = Date.parse('2026-05-14T10:40:00Z');
const said = (over?: Partial<BackfillFact>): string | undefined =>
  backfillSentence(
    {
      nowMs,
      ...(over === undefined
        ? {}
        : {
            backfill: {
              instilledMl: 300,
              atMs: Date.parse('2026-05-14T10:05:00Z'),
              id: 'x',
              voids: 0,
              ...over,
            },
          }),
    } as Pick<PatientFacts, 'backfill' | 'nowMs'>,
    'UTC',
  );

describe('a void trial by backfill in words', () => {
  it('is not said where none runs', () => expect(said()).toBeUndefined());
  it('says the share rounded down, so that 199 of 300 is 66 %', () => {
    expect(said({})).toBe('300 mL put in at 10:05. Nothing passed since.');
    expect(said({ voids: 1, voidedMl: 199, voidedPercent: 199 / 3 })).toBe(
      '300 mL put in at 10:05. 199 mL passed since: 66 % of it.',
    );
    expect(said({ voids: 2 })).toBe('300 mL put in at 10:05. Passed since, but not all of it was measured.');
  });
});
