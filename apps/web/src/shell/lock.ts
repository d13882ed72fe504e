/** When a shared tablet locks. What opens it again stands in kept/vault.ts. */
import { controlIsOn } from '@ebbline/core/quantity';

export interface Touch {
  readonly lastTouchMs: number;
  readonly nowMs: number;
  readonly lockAfterS: number;
}

/** True when nobody has touched this tablet for as long as the unit allows. A clock set back locks too. */
export function shouldLock({ lastTouchMs, nowMs, lockAfterS }: Touch): boolean {
  if (!controlIsOn('H12-lock')) return false;
  const idleMs = nowMs - lastTouchMs;
  return idleMs >= lockAfterS * 1000 || idleMs < -5000;
}

/** What stands in the page: the content only while somebody is there. */
export function maySeeContent(state: { readonly locked: boolean }): boolean {
  return !state.locked || !controlIsOn('H12-lock');
}
