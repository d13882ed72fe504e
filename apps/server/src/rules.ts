/**
 * Who may call a route. Every route carries one rule in its `config`; a route without one stops the start, so that
 * nothing is open by forgetting. What a role may open stands in core/record/permissions.ts, nowhere else.
 */
import { controlIsOn, refuse, type Refusal } from '@ebbline/core/quantity';
import { mayView, type Person, type Role, type View } from '@ebbline/core/record';

/** The part of a request in which the name stands of whom, or of the ward, it is about. */
type Part = 'params' | 'query' | 'body';

/**
 * How a request is held to what its caller reaches (reach.ts): by the `patient` or the `ward` that it names, or by the
 * handler, which then gives and takes no more than that.
 */
export type Within = { readonly by: 'patient' | 'ward'; readonly part: Part } | { readonly by: 'handler' };

export type Rule = (
  | /** Anybody, signed in or not. Never gives patient data. */
    { readonly who: 'anybody' }
  /** Anybody who is signed in. Gives patient data only within the caller's reach. */
  | { readonly who: 'signed-in' }
  /** Those whose role may open at least one of these views. */
  | { readonly who: 'viewers'; readonly views: readonly View[] }
) & { readonly within?: Within };

export const anybody: Rule = { who: 'anybody' };
export const signedIn: Rule = { who: 'signed-in' };
export const viewers = (...views: readonly View[]): Rule => ({ who: 'viewers', views });

/** The same rule for a request that names a patient. */
export const ofPatient = (rule: Rule, part: Part): Rule => ({ ...rule, within: { by: 'patient', part } });
/** The same for one that names a ward. */
export const ofWard = (rule: Rule, part: Part): Rule => ({ ...rule, within: { by: 'ward', part } });
/** The same for one whose handler keeps to the caller's reach. */
export const keptByHandler = (rule: Rule): Rule => ({ ...rule, within: { by: 'handler' } });

/** Names in a request that tell whom or what place it is about; `entries` may be about anybody. */
const telling = ['patient', 'ward', 'entries'];

/** Why a route must not be: it names a patient or a ward, and nothing says how its callers are held to their wards. */
export function routeFault(
  url: string,
  rule: Rule | undefined,
  schema: { readonly [Part in 'params' | 'querystring' | 'body']?: unknown } | undefined,
): string | undefined {
  if (rule === undefined) return `No rule says who may call ${url}: give it one in its config.`;
  const shapes = [schema?.params, schema?.querystring, schema?.body].map(
    (one) => (one as { readonly shape?: Record<string, unknown> } | undefined)?.shape ?? {},
  );
  const named = telling.find((name) => url.includes(`:${name}`) || shapes.some((shape) => name in shape));
  return named === undefined || rule.within !== undefined
    ? undefined
    : `${url} names a ${named}: say with ofPatient, ofWard or keptByHandler how its callers are held to their wards.`;
}

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
