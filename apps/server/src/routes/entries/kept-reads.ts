import type { FastifyRequest } from 'fastify';
import { instantOfMs } from '@ebbline/core/quantity';
import type { Parts } from '../../parts.ts';

/** Puts the first reading of the record in a session into the audit; a machine's every reading. */
export async function keptReads(parts: Parts, request: FastifyRequest, subject: string): Promise<void> {
  const { actor } = request;
  if (actor === undefined) return;
  const nowMs = parts.now();
  if (actor.kind === 'person' && !(await parts.sessions.firstReading(request.cookies[parts.cookie.name])))
    return;
  await parts.store.note({ at: instantOfMs(nowMs), actor: actor.id, action: 'read', subject });
}
