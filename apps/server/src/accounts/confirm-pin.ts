/** Asks for a person's own PIN again, for what must not be done from a tablet that somebody left open. */
import { controlIsOn, refuse, type Refusal } from '@ebbline/core/quantity';
import type { Person } from '@ebbline/core/record';
import { AnswerError } from '../answers.ts';
import type { Parts } from '../parts.ts';
import { freeTries } from './tries.ts';

const wrongPin = (): Refusal =>
  refuse('server/wrong-pin', {
    asked: 'Signature',
    found: 'a PIN that does not belong to this person',
    allowed: "the person's own PIN",
    todo: 'Enter the PIN again.',
  });
const pinOff = (): Refusal =>
  refuse('server/pin-off', {
    asked: 'Signature',
    found: `${freeTries} wrong PINs in a row`,
    allowed: `fewer than ${freeTries} wrong PINs in a row`,
    todo: 'Sign out and in with the secret; the PIN works again after that.',
  });

/** Wrong PINs count together with those at the change of hands. Throws a refusal with status 422. */
export async function confirmPin(
  { accounts, pinTries, now }: Pick<Parts, 'accounts' | 'pinTries' | 'now'>,
  person: Person,
  pin: string,
): Promise<void> {
  if (!controlIsOn('H6-signed-with-pin')) return;
  if (!(await pinTries.beginOf(freeTries, person.id, now()))) throw new AnswerError(422, pinOff());
  if (!(await accounts.pinIs(person.id, pin))) throw new AnswerError(422, wrongPin());
  await pinTries.right(person.id);
}
