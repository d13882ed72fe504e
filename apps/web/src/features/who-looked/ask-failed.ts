import { refuse, type Refusal } from '@ebbline/core/quantity';
import type { Answer } from '../../shell/remote.ts';

/** What to say when the ward's record did not answer the question. */
export const askFailed = (answer: Exclude<Answer<unknown>, { state: 'reached' }>): Refusal =>
  answer.state === 'refused'
    ? answer.refusal
    : refuse('web/record-not-reached', {
        asked: 'Audit',
        found: 'the ward’s record is not reached',
        allowed: 'a question while the network is there',
        todo: 'Nothing of the audit is kept on this tablet. Ask again when the network is back.',
      });
