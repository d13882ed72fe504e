/** Holds a request to its caller's reach by the patient or the ward that it names, before its handler begins. */
import type { FastifyRequest } from 'fastify';
import { controlIsOn } from '@ebbline/core/quantity';
import { AnswerError } from './answers.ts';
import type { Parts } from './parts.ts';
import { otherWard, otherWardsPatient } from './reach.ts';

export async function holdToReach(
  { reaches, directory, now }: Pick<Parts, 'reaches' | 'directory' | 'now'>,
  request: FastifyRequest,
): Promise<void> {
  const within = request.routeOptions.config.rule?.within;
  const { actor } = request;
  if (within === undefined || within.by === 'handler' || actor === undefined) return;
  if (!controlIsOn('H12-own-wards')) return;
  const named = (request[within.part] as Readonly<Record<string, unknown>> | undefined)?.[within.by];
  if (typeof named !== 'string') return;
  if (within.by === 'patient') {
    if (!(await reaches.seesPatient(actor, named, now()))) throw new AnswerError(403, otherWardsPatient());
    return;
  }
  // Of a ward that is in no directory the route itself says that there is none.
  const there = directory.current().wards.some(({ id }) => id === named);
  if (there && !reaches.seesWard(actor, named)) throw new AnswerError(403, otherWard());
}
