/**
 * What the audit hears of a request: who, on which tablet, of which wards. Ids only, never a name.
 *
 * The same look of one person at one thing within a minute is one row; a machine's every reading is a row.
 */
import type { FastifyRequest } from 'fastify';
import { instantOfMs, minuteMs } from '@ebbline/core/quantity';
import type { AuditAction, AuditDetail, AuditNote, SignInWay } from '@ebbline/store';
import type { Parts } from '../parts.ts';

/** The name that a tablet gave itself; the page writes it so that a link to a printed page carries it too. */
export const tabletCookie = 'ebbline-tablet';
const tabletName = /^[a-z0-9-]{1,40}$/;

export function tabletOf(request: FastifyRequest): string | undefined {
  const given = request.cookies[tabletCookie];
  return given !== undefined && tabletName.test(given) ? given : undefined;
}

export function detailOf(
  { directory }: Pick<Parts, 'directory'>,
  person: string,
  more: AuditDetail = {},
): AuditDetail {
  const wards = directory.person(person)?.wards;
  return { ...more, ...(wards === undefined ? {} : { actorWards: wards }) };
}

export interface Noted {
  readonly action: AuditAction;
  readonly subject: string;
  readonly patient?: string;
  readonly ward?: string;
  readonly way?: SignInWay;
  /** Whose doing it is, when not that of the request's own actor. */
  readonly actor?: string;
}

const mostRecent = 20_000;
const looks: ReadonlySet<AuditAction> = new Set<AuditAction>(['read', 'viewed']);

/** Remembers what was noted within the last minute. */
export interface RecentLooks {
  /** True when the same look was noted less than a minute before; else it is remembered. */
  again(key: string, atMs: number): boolean;
}

export function recentLooks(): RecentLooks {
  const atByKey = new Map<string, number>();
  return {
    again: (key, atMs) => {
      const before = atByKey.get(key);
      if (before !== undefined && Math.abs(atMs - before) < minuteMs) return true;
      atByKey.delete(key);
      if (atByKey.size >= mostRecent) atByKey.delete(atByKey.keys().next().value as string);
      atByKey.set(key, atMs);
      return false;
    },
  };
}

export async function noteRequest(
  parts: Pick<Parts, 'directory' | 'store' | 'now' | 'recent'>,
  request: FastifyRequest,
  noted: Noted,
): Promise<void> {
  const actor = noted.actor ?? request.actor?.id ?? '';
  const atMs = parts.now();
  const tablet = tabletOf(request);
  const { action, subject, patient, ward, way } = noted;
  if (looks.has(action) && request.actor?.kind !== 'machine') {
    const key = JSON.stringify([actor, action, subject, patient, ward, tablet]);
    if (parts.recent.again(key, atMs)) return;
  }
  const note: AuditNote = {
    at: instantOfMs(atMs),
    actor,
    action,
    subject,
    ...(patient === undefined ? {} : { patient }),
    detail: detailOf(parts, actor, {
      ...(tablet === undefined ? {} : { tablet }),
      ...(ward === undefined ? {} : { ward }),
      ...(way === undefined ? {} : { way }),
    }),
  };
  await parts.store.note(note);
}
