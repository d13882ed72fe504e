/**
 * Who may call a route. Every route carries one rule in its `config`; a route without one stops the start, so that
 * nothing is open by forgetting. What a role may open stands in core/record/permissions.ts, nowhere else.
 */
import { controlIsOn, refuse, type Refusal } from '@ebbline/core/quantity';
import { mayView, type Person, type Role, type View } from '@ebbline/core/record';

export type Rule =
  /** Anybody, signed in or not. Never gives patient data. */
  | { readonly who: 'anybody' }
  /** Anybody who is signed in. Never gives patient data. */
  | { readonly who: 'signed-in' }
  /** Those whose role may open at least one of these views. */
  | { readonly who: 'viewers'; readonly views: readonly View[] };

export const anybody: Rule = { who: 'anybody' };
export const signedIn: Rule = { who: 'signed-in' };
export const viewers = (...views: readonly View[]): Rule => ({ who: 'viewers', views });

/** Who asks: a person with a session, or a machine with a token. */
export type Actor =
  | { readonly kind: 'person'; readonly id: string; readonly role: Role; readonly person: Person }
  | { readonly kind: 'machine'; readonly id: string; readonly role: Role };

declare module 'fastify' {
  interface FastifyContextConfig {
    rule?: Rule;
  }
  interface FastifyRequest {
    actor: Actor | undefined;
    /** Why there is no actor, when a session was sent along. */
    sessionEnded: boolean;
  }
}

const notSignedIn = (ended: boolean): Refusal =>
  refuse(ended ? 'server/session-ended' : 'server/not-signed-in', {
    asked: 'Request',
    found: ended ? 'a session that has ended' : 'nobody signed in',
    allowed: 'a signed-in person, or a machine with a token',
    todo: ended ? 'Enter your PIN, or sign in again.' : 'Sign in.',
  });

/** The refusal with its HTTP status, or nothing when the actor may pass. */
export function ruleRefusal(
  rule: Rule,
  actor: Actor | undefined,
  ended = false,
): { status: 401 | 403; refusal: Refusal } | undefined {
  if (rule.who === 'anybody' || !controlIsOn('H12-rules')) return undefined;
  if (actor === undefined) return { status: 401, refusal: notSignedIn(ended) };
  if (rule.who === 'viewers' && !rule.views.some((view) => mayView(actor.role, view))) {
    const refusal = refuse('server/not-for-this-role', {
      asked: 'Request',
      found: `the role ${actor.role}`,
      allowed: `roles that may open: ${rule.views.join(', ')}`,
      todo: 'Ask somebody whose role allows it.',
    });
    return { status: 403, refusal };
  }
  return undefined;
}
