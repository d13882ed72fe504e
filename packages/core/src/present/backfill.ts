/** A void trial by backfill in words: what was put in, and what was passed of it. Whether that is enough is the protocol's to say. */
import type { PatientFacts } from '../facts/index.ts';
import { clockOrDay, whole } from './words.ts';

export function backfillSentence(
  facts: Pick<PatientFacts, 'backfill' | 'nowMs'>,
  zone: string,
): string | undefined {
  const { backfill, nowMs } = facts;
  if (!backfill) return undefined;
  const { instilledMl, atMs, voids, voidedMl, voidedPercent } = backfill;
  const put = `${whole(instilledMl)} mL put in at ${clockOrDay(atMs, nowMs, zone)}.`;
  if (voids === 0) return `${put} Nothing passed since.`;
  return voidedMl === undefined || voidedPercent === undefined
    ? `${put} Passed since, but not all of it was measured.`
    : `${put} ${whole(voidedMl)} mL passed since: ${Math.floor(voidedPercent)} % of it.`;
}
