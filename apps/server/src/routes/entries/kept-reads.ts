import type { FastifyRequest } from 'fastify';
import { noteRequest } from '../../audit/note-request.ts';
import type { Parts } from '../../parts.ts';

/** Puts the first reading of the record in a session into the audit; a machine's every reading. */
export async function keptReads(parts: Parts, request: FastifyRequest, subject: string): Promise<void> {
  const { actor } = request;
  if (actor === undefined) return;
  if (actor.kind === 'person' && !(await parts.sessions.firstReading(request.cookies[parts.cookie.name])))
    return;
  await noteRequest(parts, request, { action: 'read', subject });
}
