import type { PayloadOf } from '@ebbline/core/record';

/** Why an entry is taken back, on keys. */
export const correctionWords: Readonly<Record<PayloadOf<'withdrawn'>['reason'], string>> = {
  typing: 'Typing slip',
  'wrong-patient': 'Wrong patient',
  duplicate: 'Charted twice',
  'wrong-time': 'Wrong time',
  'not-done': 'It was not done',
  'clock-wrong': 'The clock was wrong',
  other: 'Another reason',
};
