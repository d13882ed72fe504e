/** Where a version stands, in one line, for lists and headings. */
import { approvalWords, dayInWords } from '@ebbline/core/present';
import { calendarDay, instantMs } from '@ebbline/core/quantity';
import type { CompiledProtocol, ProtocolVersion } from '@ebbline/protocol';

const dayOf = (at: string, zone: string): string => dayInWords(calendarDay(instantMs(at), zone));

export function versionWords(one: ProtocolVersion, nowMs: number, zone: string): string {
  const { published, retired, sent } = one;
  if (one.state === 'published') return `In force. ${approvalWords(one.protocol.approval, nowMs, zone)}.`;
  if (retired)
    return published
      ? `${approvalWords(one.protocol.approval, nowMs, zone, retired)}`
      : `Taken back by ${retired.name} on ${dayOf(retired.at, zone)}, never signed: ${retired.reason}`;
  return `Proved. Waits for a signature, sent by ${sent.name} on ${dayOf(sent.at, zone)}.`;
}

/** The version before one under the same id: sent earlier and signed, or the example that ships. */
export function versionBefore(
  one: CompiledProtocol,
  versions: readonly ProtocolVersion[],
  starters: readonly CompiledProtocol[],
): CompiledProtocol | undefined {
  return [
    ...versions.filter((each) => each.published !== undefined).map((each) => each.protocol),
    ...starters,
  ]
    .filter((each) => each.id === one.id && each.version < one.version)
    .toSorted((a, b) => a.version - b.version)
    .at(-1);
}
