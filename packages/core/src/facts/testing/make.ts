/** Small maker of entries for tests: one counter, one patient, times as wall clock of one day. */
import { instantMs, uuidV7 } from '../../quantity/index.ts';
import { checkEntry, type Entry, type EntryKind, type PayloadOf } from '../../record/index.ts';
import { isRefusal, refusalSentence } from '../../quantity/index.ts';

export interface Maker {
  add: <Kind extends EntryKind>(
    at: string,
    kind: Kind,
    payload: PayloadOf<Kind>,
    extra?: Partial<Pick<Entry, 'author' | 'patient' | 'recordedAt' | 'corrects' | 'madeOn'>>,
  ) => Entry;
  entries: Entry[];
  /** The instant of a wall-clock time such as `13:10`, or of a whole instant. */
  at: (time: string) => number;
}

/** `day` is such as `2026-05-14`, `offset` such as `+01:00`. */
export function maker(patient = 'p-4', day = '2026-05-14', offset = '+01:00'): Maker {
  const entries: Entry[] = [];
  const instant = (time: string): string => (time.length > 5 ? time : `${day}T${time}:00${offset}`);
  return {
    entries,
    at: (time) => instantMs(instant(time)),
    add: (at, kind, payload, extra = {}) => {
      const effectiveAt = instant(at);
      const count = entries.length + 1;
      const raw = {
        id: uuidV7(instantMs(effectiveAt), [count >> 8, count & 255, 3, 4, 5, 6, 7, 8, 9, 10]),
        organisation: 'quern-network',
        patient,
        kind,
        effectiveAt,
        timeQuality: 'exact',
        recordedAt: effectiveAt,
        author: 'nurse-kl',
        madeOn: 'tablet-1',
        payload,
        ...extra,
      };
      const entry = checkEntry(raw, instantMs(raw.recordedAt) + 60_000);
      if (isRefusal(entry)) throw new Error(refusalSentence(entry));
      entries.push(entry);
      return entry;
    },
  };
}

/** Payload of an advised step for tests. */
export const advised = (
  step: PayloadOf<'step-advised'>['step'],
  dueAt: string,
  because?: string,
): PayloadOf<'step-advised'> => ({
  step,
  dueAt,
  ownerRole: 'nurse',
  why: 'Look again before it can reach the limit.',
  rowId: 'T-01',
  rowText: 'Test row.',
  rowSourceId: 'unit choice',
  protocolId: 'test',
  protocolVersion: 1,
  protocolApproval: 'example-not-approved',
  ...(because === undefined ? {} : { becauseOf: because }),
});
