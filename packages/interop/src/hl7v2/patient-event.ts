/**
 * What a message about patients and beds says happened (ADT), with the names that the feed gives them.
 *
 * Domain    A01-A04, A06-A08, A11-A13, A17, A21, A22, A28, A31, A34, A40; others are answered with AR 201
 * Errors    `hl7/field-missing` where nobody is named, `hl7/unknown-event`, `hl7/not-about-patients`, and those of times
 * Source    HL7 v2.5.1 chapter 3, from memory (S-from-memory); events and what to do with them: S-hl7-tables
 */
import { isRefusal, refuse, uuidOfText, type Refusal } from '@ebbline/core/quantity';
import { repetitionsOf, segmentOf, textAt, type Message, type Segment } from './message.ts';
import { readDay, readTime } from './time.ts';

/** Event of table 0003 → what it means here. */
export const feedEvents = {
  A01: 'admitted',
  A02: 'transferred',
  A03: 'discharged',
  A04: 'admitted',
  A06: 'transferred',
  A07: 'transferred',
  A08: 'updated',
  A11: 'admission-cancelled',
  A12: 'transfer-cancelled',
  A13: 'discharge-cancelled',
  A17: 'transferred',
  A21: 'left-on-leave',
  A22: 'back-from-leave',
  A28: 'updated',
  A31: 'updated',
  A34: 'merged',
  A40: 'merged',
} as const;
export type FeedEvent = keyof typeof feedEvents;
export type Happening = (typeof feedEvents)[FeedEvent];

/** A number by which a system knows a patient; `system` is the assigning authority. */
export interface FeedIdentifier {
  readonly system: string;
  readonly value: string;
}

/** What the feed says of a person. A member that is absent was not said; an empty one was taken back. */
export interface FeedPerson {
  readonly familyName?: string;
  readonly givenName?: string;
  readonly birthDate?: string;
  readonly sex?: 'female' | 'male' | 'other' | 'unknown';
}

export interface FeedPlace {
  readonly ward: string;
  readonly room: string;
  readonly bed: string;
}

export interface PatientEvent {
  /** The same message has the same key, however often it comes: sender and control id. */
  readonly key: string;
  readonly happening: Happening;
  readonly identifier: FeedIdentifier;
  /** With `merged`: the number that is no longer used. */
  readonly retired?: FeedIdentifier;
  readonly person: FeedPerson;
  /** Number of the stay; absent where the feed gives none. */
  readonly visit?: string;
  readonly place?: FeedPlace;
  /** When it happened, and when it was told. Milliseconds. */
  readonly atMs: number;
  readonly toldAtMs: number;
  /** True when the feed itself said when it happened, and not only when it was told. */
  readonly timeGiven: boolean;
}

export interface FeedSettings {
  /** Wall clock of times without an offset. */
  readonly zone: string;
  /** Types of identifier (table 0203) to go by, best first. */
  readonly identifierTypes?: readonly string[];
}

/** A number is never cut: what the record takes (core/record/kinds.ts). */
const longestNumber = 60;
/** No event names more than two; a sender may have habits of its own. S-common-practice */
const mostPeople = 20;
const usualTypes = ['MR', 'PI'] as const;

const missing = (place: string, words: string): Refusal =>
  refuse('hl7/field-missing', {
    asked: 'Patient message',
    found: words,
    allowed: `a message with ${place}`,
    todo: `Have the sender fill ${place}.`,
    where: place,
  });

/** The identifier of the best type; where no type is given, the first. */
function identifierIn(
  message: Message,
  segment: Segment | undefined,
  field: number,
  types: readonly string[],
): FeedIdentifier | undefined {
  if (segment === undefined) return undefined;
  const facility = textAt(message, segmentOf(message, 'MSH'), { field: 4 });
  const [best] = repetitionsOf(message, segment, field)
    .filter(([value = '']) => value !== '' && value !== '""')
    .map(([value = '', , , system = '', typeText = '']) => {
      const type = types.indexOf(typeText);
      const rank = type >= 0 ? type : typeText === '' ? types.length : types.length + 1;
      return { system: system || facility, value, rank };
    })
    .sort((a, b) => a.rank - b.rank);
  return best === undefined ? undefined : { system: best.system, value: best.value };
}

const sexes = { F: 'female', M: 'male', O: 'other', A: 'other', U: 'unknown', N: 'unknown' } as const;

function personIn(message: Message, pid: Segment): FeedPerson {
  const said = (field: number, component = 1): string | undefined => {
    const text = textAt(message, pid, { field, component });
    return text === '' ? undefined : text === '""' ? '' : text;
  };
  const familyName = said(5);
  const givenName = said(5, 2);
  const born = said(7);
  const birthDate = born === undefined || born === '' ? born : readDay(born);
  const sexText = said(8);
  const sex =
    sexText === undefined ? undefined : (sexes[sexText as keyof typeof sexes] ?? ('unknown' as const));
  return {
    ...(familyName === undefined ? {} : { familyName }),
    ...(givenName === undefined ? {} : { givenName }),
    ...(birthDate === undefined ? {} : { birthDate }),
    ...(sex === undefined ? {} : { sex }),
  };
}

function placeIn(message: Message, pv1: Segment | undefined): FeedPlace | undefined {
  const at = (component: number): string => textAt(message, pv1, { field: 3, component });
  return at(1) === '' || at(1) === '""' ? undefined : { ward: at(1), room: at(2), bed: at(3) };
}

/** Each person of the message with the stay that follows; two with A17, which swaps two beds. */
function peopleIn(message: Message): readonly { readonly pid: Segment; readonly pv1: Segment | undefined }[] {
  const groups: { pid: Segment; pv1: Segment | undefined }[] = [];
  for (const segment of message.segments) {
    if (segment.name === 'PID') groups.push({ pid: segment, pv1: undefined });
    else if (segment.name === 'PV1') {
      const last = groups.at(-1);
      if (last) last.pv1 ??= segment;
    }
  }
  return groups;
}

/** Type and event of a message: MSH-9, and EVN-1 where an old sender leaves the second part out. */
export function typeOf(message: Message): { readonly type: string; readonly event: string } {
  const header = segmentOf(message, 'MSH');
  const type = textAt(message, header, { field: 9 });
  const event = textAt(message, header, { field: 9, component: 2 });
  return { type, event: event || textAt(message, segmentOf(message, 'EVN'), { field: 1 }) };
}

/** Sender and control id; a message without one is known by its own text. */
export function keyOf(message: Message): string {
  const header = segmentOf(message, 'MSH');
  const at = (field: number): string => textAt(message, header, { field });
  const id =
    at(10) || uuidOfText(message.segments.map(({ name, fields }) => [name, ...fields].join('|')).join('\r'));
  return `${at(3)}|${at(4)}|${id}`;
}

export function readPatientEvents(
  message: Message,
  { zone, identifierTypes = usualTypes }: FeedSettings,
): readonly PatientEvent[] | Refusal {
  const { type, event } = typeOf(message);
  if (type !== 'ADT')
    return refuse('hl7/not-about-patients', {
      asked: 'Patient message',
      found: type === '' ? 'no type in MSH-9' : 'another type of message',
      allowed: 'ADT',
      todo: 'Send this type to another address, or leave it out.',
      where: 'MSH-9',
    });
  if (!Object.hasOwn(feedEvents, event))
    return refuse('hl7/unknown-event', {
      asked: 'Patient message',
      found: 'an event that is not used here',
      allowed: Object.keys(feedEvents).join(', '),
      todo: 'Leave this event out of the feed; nothing is lost by that.',
      where: 'MSH-9',
    });
  const happening = feedEvents[event as FeedEvent];
  const header = segmentOf(message, 'MSH');
  const evn = segmentOf(message, 'EVN');
  const timeAt = (segment: Segment | undefined, field: number): number | Refusal | undefined => {
    const text = textAt(message, segment, { field });
    return text === '' || text === '""' ? undefined : readTime(text, zone);
  };
  const told = timeAt(header, 7) ?? timeAt(evn, 2);
  if (isRefusal(told)) return told;
  const happened = timeAt(evn, 6);
  if (isRefusal(happened)) return happened;
  const recorded = timeAt(evn, 2);
  if (isRefusal(recorded)) return recorded;
  const people = peopleIn(message);
  if (people.length === 0) return missing('PID', 'nobody named');
  if (people.length > mostPeople)
    return refuse('hl7/too-many', {
      asked: 'Patient message',
      found: `${people.length} patients`,
      allowed: `up to ${mostPeople} in one message`,
      todo: 'Have the sender send a message for each.',
      where: 'PID',
    });
  const events: PatientEvent[] = [];
  for (const [place, { pid, pv1 }] of people.entries()) {
    const identifier = identifierIn(message, pid, 3, identifierTypes);
    if (identifier === undefined) return missing('PID-3', 'a patient without a number');
    if (identifier.value.length > longestNumber)
      return refuse('hl7/number-too-long', {
        asked: 'Patient message',
        found: `a number of ${identifier.value.length} characters`,
        allowed: `up to ${longestNumber}`,
        todo: 'Have the sender put the number of the patient into PID-3.1 by itself.',
        where: 'PID-3',
      });
    const retired =
      happening === 'merged'
        ? identifierIn(message, segmentOf(message, 'MRG'), 1, identifierTypes)
        : undefined;
    if (happening === 'merged' && retired === undefined)
      return missing('MRG-1', 'a merge that does not say which number is retired');
    const visit = textAt(message, pv1, { field: 19 });
    const where = placeIn(message, pv1);
    const atMs = happened ?? recorded ?? told;
    events.push({
      key: people.length === 1 ? keyOf(message) : `${keyOf(message)}|${place + 1}`,
      happening,
      identifier,
      ...(retired === undefined ? {} : { retired }),
      person: personIn(message, pid),
      ...(visit === '' || visit === '""' ? {} : { visit }),
      ...(where === undefined ? {} : { place: where }),
      // A message that gives no time at all comes before all that do.
      atMs: atMs ?? 0,
      toldAtMs: told ?? atMs ?? 0,
      timeGiven: happened !== undefined,
    });
  }
  return events;
}
