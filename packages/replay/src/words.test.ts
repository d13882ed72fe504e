// Proves     numbers keep their sign and their interval; what was not seen, what is modelled and what had no answer is said
// Published  none
// Tolerance  exact words
import { describe, expect, it } from 'vitest';
import type { PairedFigure } from './paired.ts';
import type { EpisodesReplay, ReplayedMoment } from './replay-episodes.ts';
import type { SimulatedReplay } from './replay-simulated.ts';
import {
  answerWords,
  changedPatients,
  hoursSentence,
  madeUpSentences,
  pairedCells,
  pairedHeads,
  pastSentences,
  percentOf,
  signed,
} from './words.ts';

const figure: PairedFigure = {
  inForce: 4,
  draft: 3,
  difference: { mean: -1, low: -1.5, high: 0.2 },
  patients: 20,
  differ: 3,
  differShare: { share: 0.15, low: 0.032, high: 0.379 },
};
const moment = (patient: string, atMs: number): ReplayedMoment => ({
  patient,
  episode: 'opened',
  advised: `${patient}/${atMs}`,
  atMs,
  trigger: 'reading',
  recorded: { step: 'look-again', dueAtMs: atMs },
  inForce: { kind: 'advice', step: 'look-again', dueInMin: 90, ownerRole: 'nurse', rowId: 'AS-31' },
  draft: { kind: 'advice', step: 'examine-now', dueInMin: 0, ownerRole: 'nurse', rowId: 'AS-07' },
  change: 'step',
  seen: true,
});
const past: EpisodesReplay = {
  patients: 20,
  episodes: 21,
  moments: 200,
  seen: 150,
  inForceDeparts: 0,
  notAsked: 0,
  changedPatients: { count: 3, of: 20, share: { share: 0.15, low: 0.032, high: 0.379 } },
  changed: [moment('a', 1), moment('b', 2), moment('a', 3)],
  changes: { count: 3 },
  figures: { catheterisations: figure, looks: figure, woken: figure, waitMin: figure },
};

describe('a replay in words', () => {
  it('gives every number its sign, and none to what rounds to nothing', () => {
    expect([signed(0.456, 2), signed(-1, 1), signed(0, 0), signed(-0.004, 2)]).toEqual([
      '+0.46',
      '−1.0',
      '0',
      '0.00',
    ]);
    const cells = ['4.0', '3.0', '−1.0', '−1.5 to +0.2', '3 of 20 (3 to 38 in 100)'];
    expect(pairedCells(figure, 1)).toEqual(cells);
    expect(pairedHeads).toHaveLength(1 + cells.length);
    const { difference: _difference, ...alone } = figure;
    expect(pairedCells(alone, 1).slice(2, 4)).toEqual(['–', 'too few patients']);
  });

  it('puts differences on one scale, and none where nothing is in force', () => {
    expect(percentOf(figure)).toEqual({ mean: -25, low: -37.5, high: 5 });
    expect(percentOf({ ...figure, inForce: 0 })).toBeUndefined();
    const { difference: _difference, ...alone } = figure;
    expect(percentOf(alone)).toBeUndefined();
  });

  it('says how far the past was seen, and what the one in force would not have said', () => {
    const sentences = pastSentences(past).join(' ');
    expect(sentences).toContain('21 finished watches of 20 patients, 200 advised steps');
    expect(sentences).toContain(
      'answers 3 steps otherwise, for 3 of 20 patients (95 % interval 3 to 38 in 100)',
    );
    expect(sentences).toContain('the later course was not seen: 50 advised steps lie there');
    expect(sentences).not.toContain('protocol in force itself');
    const other = pastSentences({ ...past, seen: 200, inForceDeparts: 1, notAsked: 2 }).join(' ');
    expect(other).not.toContain('was not seen');
    expect(other).toContain('At 1 step the protocol in force itself answers otherwise');
    expect(other).toContain('2 advised steps could not be asked again.');
  });

  it('does not take no change among few patients for proof of none', () => {
    const none = pastSentences({
      ...past,
      changed: [],
      changedPatients: { count: 0, of: 20, share: { share: 0, low: 0, high: 0.168 } },
    }).join(' ');
    expect(none).toContain('With 20 patients, a change for up to 17 in 100 can’t be excluded.');
  });

  it('calls modelled what is modelled', () => {
    const hours = hoursSentence({
      patients: [],
      notValid: 1,
      total: { low: 1, likely: 2.25, high: 4 },
    });
    expect(hours).toContain(
      'modelled from everything charted: 2.3 h over 0 watches, at the widest 1.0 to 4.0 h',
    );
    expect(hours).toContain('Of 1 watch more nothing can be said.');
    expect(hours).toContain('under the draft was not seen');
    const madeUp: SimulatedReplay = {
      patients: 30,
      hours: 24,
      seed: 1,
      figures: {} as SimulatedReplay['figures'],
      unanswered: { inForce: 0, draft: 1 },
    };
    expect(madeUpSentences(madeUp).join(' ')).toMatch(
      /^Modelled: 30 made-up patients.*not how they do on people.*Without an answer: the protocol in force 0 times, the draft 1 time\./,
    );
    expect(madeUpSentences({ ...madeUp, unanswered: { inForce: 0, draft: 0 } })).toHaveLength(2);
  });

  it('lists each patient once, by the first change, with how many more there are', () => {
    expect(
      changedPatients(past.changed).map(({ patient, first, more }) => [patient, first.atMs, more]),
    ).toEqual([
      ['a', 1, 1],
      ['b', 2, 0],
    ]);
    expect(answerWords(past.changed[0]?.draft as never)).toBe('Examine now: nurse (row AS-07)');
    expect(answerWords(past.changed[0]?.inForce as never)).toBe(
      'Look again, within 90 minutes: nurse (row AS-31)',
    );
    expect(answerWords({ kind: 'none', refusal: {} as never })).toBe('No answer');
  });
});
