import { entryId, instant, text } from '../quantity/shape.ts';
import { controlIsOn } from '../quantity/control.ts';
import { instantMs, minuteMs, type Instant } from '../quantity/instant.ts';
import type { EntryId } from '../quantity/identifier.ts';
import { isRefusal, refuse, type Refusal } from '../quantity/refusal.ts';
import { checkTogether } from './check-together.ts';
import { entryKinds, payloadShapes, type EntryKind, type PayloadOf } from './kinds.ts';

/** How well the effective time is known: read off a clock, rounded when charted later, or only "before it was recorded". */
export const timeQualities = ['exact', 'rounded', 'unknown'] as const;
export type TimeQuality = (typeof timeQualities)[number];

/** What an entry was copied from by its author; left out when it was written here first. */
export const copiedFromPlaces = ['paper'] as const;
export type CopiedFrom = (typeof copiedFromPlaces)[number];

/** What every entry carries, whatever its kind. */
export interface Envelope {
  readonly id: EntryId;
  readonly organisation: string;
  /** Whose record it was written in. May turn out to be the wrong one: see `moved-to-patient`. */
  readonly patient: string;
  /** When it happened. */
  readonly effectiveAt: Instant;
  readonly timeQuality: TimeQuality;
  /** When it was written down, by the clock of the tablet or system that made it. */
  readonly recordedAt: Instant;
  /** Who wrote it down. */
  readonly author: string;
  /** The tablet or system that made the entry. */
  readonly madeOn: string;
  /** This entry takes the place of that one, from `recordedAt` on. */
  readonly corrects?: EntryId;
  readonly copiedFrom?: CopiedFrom;
}

/** One thing that somebody did, saw, was told or decided about one patient. Added, never edited. */
export type Entry<Kind extends EntryKind = EntryKind> = {
  [K in Kind]: Envelope & { readonly kind: K; readonly payload: PayloadOf<K> };
}[Kind];

/** An entry as one replica keeps it: with the instant at which this replica received it. */
export interface KeptEntry {
  readonly entry: Entry;
  readonly receivedAt: Instant;
  /** Grows by one with every entry that this replica keeps; the cursor of sync. */
  readonly sequence: number;
}

export function isKind<Kind extends EntryKind>(
  entry: Entry,
  kind: Kind,
): entry is Extract<Entry, { kind: Kind }> {
  return entry.kind === kind;
}

/** Names of what every entry carries beside its payload, in the order in which they are written. */
export const envelopeFields = [
  'id',
  'organisation',
  'patient',
  'kind',
  'effectiveAt',
  'timeQuality',
  'recordedAt',
  'author',
  'madeOn',
  'corrects',
  'copiedFrom',
] as const;
const envelopeNames = new Set<string>([...envelopeFields, 'payload']);

/** A clock that runs a little ahead is let pass; more is asked about. Common practice (S-common-practice). */
const clockToleranceMin = 5;

/**
 * Checks one entry from outside. Whole or not at all: the first fault is a refusal that says what was found,
 * what is allowed and what to do.
 *
 * @param value anything, such as parsed JSON
 * @param nowMs the receiver's clock, for times that lie in the future
 */
export function checkEntry(value: unknown, nowMs: number): Entry | Refusal {
  if (typeof value !== 'object' || value === null || Array.isArray(value)) {
    return refuse('record/not-an-object', {
      asked: 'Entry',
      found: Array.isArray(value) ? 'a list' : value === null ? 'null' : typeof value,
      allowed: 'one entry as an object',
      todo: 'Send the whole entry.',
    });
  }
  const given = value as Record<string, unknown>;
  for (const name of Object.keys(given)) {
    if (!envelopeNames.has(name)) {
      return refuse('record/unknown-field', {
        asked: 'Entry',
        found: `"${name.slice(0, 40)}"`,
        allowed: [...envelopeNames].join(', '),
        todo: 'Use one of these names.',
      });
    }
  }
  const kind = given['kind'];
  if (typeof kind !== 'string' || !Object.hasOwn(payloadShapes, kind)) {
    return refuse('record/unknown-kind', {
      asked: 'Entry',
      found: typeof kind === 'string' ? `"${kind.slice(0, 40)}"` : 'no kind',
      allowed: entryKinds.join(', '),
      todo: 'Use one of these kinds.',
      where: 'kind',
    });
  }
  const id = entryId().check(given['id'], 'id');
  if (isRefusal(id)) return id;
  const read = { organisation: '', patient: '', author: '', madeOn: '' };
  for (const name of ['organisation', 'patient', 'author', 'madeOn'] as const) {
    const checked = text(120).check(given[name], name);
    if (isRefusal(checked)) return checked;
    read[name] = checked;
  }
  const effectiveAt = instant().check(given['effectiveAt'], 'effectiveAt');
  if (isRefusal(effectiveAt)) return effectiveAt;
  const recordedAt = instant().check(given['recordedAt'], 'recordedAt');
  if (isRefusal(recordedAt)) return recordedAt;
  const timeQuality = given['timeQuality'] ?? 'exact';
  if (!timeQualities.includes(timeQuality as TimeQuality)) {
    return refuse('record/not-a-choice', {
      asked: 'Entry',
      found: `"${String(timeQuality).slice(0, 40)}"`,
      allowed: timeQualities.join(', '),
      todo: 'Choose one of these.',
      where: 'timeQuality',
    });
  }
  const latest = nowMs + clockToleranceMin * minuteMs;
  const aheadMin = Math.round((instantMs(effectiveAt) - latest) / minuteMs);
  if (controlIsOn('H5-future') && instantMs(effectiveAt) > latest) {
    return refuse('record/in-the-future', {
      asked: 'Entry',
      found: `a time ${aheadMin + clockToleranceMin} minutes ahead of the clock`,
      allowed: `a time that has been, or at most ${clockToleranceMin} minutes ahead`,
      todo: 'Check the day and the hour, and the clock of the tablet.',
      where: 'effectiveAt',
    });
  }
  const corrects =
    given['corrects'] === undefined ? undefined : entryId().check(given['corrects'], 'corrects');
  if (isRefusal(corrects)) return corrects;
  const copiedFrom = given['copiedFrom'];
  if (copiedFrom !== undefined && !copiedFromPlaces.includes(copiedFrom as CopiedFrom)) {
    return refuse('record/not-a-choice', {
      asked: 'Entry',
      found: `"${String(copiedFrom).slice(0, 40)}"`,
      allowed: copiedFromPlaces.join(', '),
      todo: 'Choose one of these, or leave it out.',
      where: 'copiedFrom',
    });
  }
  const payload = payloadShapes[kind as EntryKind].check(given['payload'], 'payload');
  if (isRefusal(payload)) return payload;
  const entry = {
    id,
    ...read,
    kind,
    effectiveAt,
    timeQuality,
    recordedAt,
    ...(corrects === undefined ? {} : { corrects }),
    ...(copiedFrom === undefined ? {} : { copiedFrom }),
    payload,
  } as Entry;
  return checkTogether(entry) ?? entry;
}

/** The order in which entries count: by when they happened, then by when they were written down, then by id. */
export function compareEntries(a: Entry, b: Entry): number {
  return (
    instantMs(a.effectiveAt) - instantMs(b.effectiveAt) ||
    instantMs(a.recordedAt) - instantMs(b.recordedAt) ||
    (a.id < b.id ? -1 : a.id > b.id ? 1 : 0)
  );
}
