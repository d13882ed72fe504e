/** What every way in shares: the cookie of a session, and what the audit and the log hear of it. */
import type { FastifyReply, FastifyRequest } from 'fastify';
import type { Refusal } from '@ebbline/core/quantity';
import type { Person } from '@ebbline/core/record';
import type { AuditAction, SignInWay } from '@ebbline/store';
import { AnswerError } from '../answers.ts';
import { noteRequest } from '../audit/note-request.ts';
import type { Parts } from '../parts.ts';

export function signInSession(parts: Parts) {
  const { directory, sessions, secretTries, pinTries, cookie, now } = parts;
  const tokenOf = (request: FastifyRequest): string | undefined => request.cookies[cookie.name];
  const note = (
    request: FastifyRequest,
    action: AuditAction,
    person: string,
    way?: SignInWay,
  ): Promise<void> =>
    noteRequest(parts, request, {
      actor: person,
      action,
      subject: person,
      ...(way === undefined ? {} : { way }),
    });
  return {
    tokenOf,
    note,
    /** Ends the session of this tablet and opens one for this person. */
    open: async (
      request: FastifyRequest,
      reply: FastifyReply,
      person: Person,
      how: { readonly action: 'signed-in' | 'switched'; readonly way: SignInWay; readonly openedMs?: number },
    ): Promise<{ readonly person: Person }> => {
      await sessions.end(tokenOf(request));
      await note(request, how.action, person.id, how.way);
      void reply.setCookie(cookie.name, await sessions.open(person.id, now(), how.openedMs), {
        httpOnly: true,
        sameSite: 'strict',
        secure: cookie.secure,
        path: '/',
      });
      return { person };
    },
    refused: async (
      request: FastifyRequest,
      person: string,
      status: number,
      refusal: Refusal,
      way?: SignInWay,
    ): Promise<never> => {
      request.log.warn(
        {
          code: refusal.code,
          tries: Math.max(await secretTries.count(person), await pinTries.count(person)),
        },
        'sign-in refused',
      );
      // Only ids of the directory are put in the audit: anything else might be a secret in the wrong field.
      await note(request, 'sign-in-refused', directory.person(person) ? person : 'nobody known', way);
      throw new AnswerError(status, refusal);
    },
  };
}
