import type { FastifyRequest } from 'fastify';
import type { Parts } from '../parts.ts';
import type { Actor } from '../rules.ts';

const bearer = /^Bearer ([\x21-\x7e]+)$/i;

/** Who sends this request, by token or by session, and marks the session as used; nobody when neither is good. */
export async function actorOf(parts: Parts, request: FastifyRequest): Promise<Actor | undefined> {
  const nowMs = parts.now();
  const { authorization } = request.headers;
  const sent = authorization === undefined ? undefined : bearer.exec(authorization)?.[1];
  if (sent !== undefined) {
    const machine = await parts.tokens.find(sent, nowMs);
    return machine && { kind: 'machine', ...machine };
  }
  const token = request.cookies[parts.cookie.name];
  const held = await parts.sessions.find(token, nowMs);
  if (held?.state !== 'live') return undefined;
  const person = parts.directory.person(held.session.person);
  if (person === undefined) return undefined;
  await parts.sessions.use(token, nowMs);
  return { kind: 'person', id: person.id, role: person.role, person };
}
