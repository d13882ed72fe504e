/** What the handover page shows of each patient, and who can be asked to take one. */
import { instantMs } from '@ebbline/core/quantity';
import { sameOwner, type OpenOffer, type Owner, type PatientFacts } from '@ebbline/core/facts';
import { clockOrDay, handoverEntryOf, labels, whole, type HandoverEntry } from '@ebbline/core/present';
import { mayWrite, roles, type Directory, type Person, type Role, type Ward } from '@ebbline/core/record';

export interface HandoverCard {
  readonly facts: PatientFacts;
  readonly entry: HandoverEntry;
  /** Offered by whoever has it now and not yet taken. */
  readonly offer: OpenOffer | undefined;
  /** Entries made since the present owner took it. */
  readonly newEntries: number;
}

export interface HandoverView {
  /** Offered to this person by name, or to their role on one of their wards. */
  readonly toMe: readonly HandoverCard[];
  /** This person's own, offered or not. */
  readonly mine: readonly HandoverCard[];
  /** Handed over by this person in the last hours, and taken. */
  readonly accepted: readonly {
    readonly card: HandoverCard;
    readonly by: string;
    readonly atMs: number;
    readonly readBack: string;
  }[];
  /** Other people's offers that nobody has taken: the charge nurse sees them. */
  readonly othersOpen: readonly HandoverCard[];
  /** Open items on the page and in the record: equal, or the page is not to be used. */
  readonly itemsShown: number;
  readonly itemsInRecord: number;
}

const recentMs = 4 * 3_600_000;
const shownKinds = new Set([
  'reading',
  'void',
  'drained',
  'catheter-placed',
  'catheter-removed',
  'catheter-status',
  'call-made',
  'call-answered',
  'red-flag',
  'symptom',
  'step-answered',
]);

export function isOfferedTo(offer: OpenOffer, me: Person): boolean {
  return offer.to.kind === 'person'
    ? offer.to.person === me.id
    : offer.to.role === me.role && me.wards.includes(offer.to.ward);
}

const isHis = (owner: Owner, me: Person): boolean =>
  owner.kind === 'person' ? owner.person === me.id : owner.role === me.role && me.wards.includes(owner.ward);

function cardOf(facts: PatientFacts, zone: string, directory: Directory): HandoverCard {
  const sinceMs = facts.ownership.at(-1)?.fromMs ?? 0;
  const newEntries = facts.timeline.filter(
    (one) =>
      one.standing.state === 'live' &&
      shownKinds.has(one.entry.kind) &&
      instantMs(one.entry.recordedAt) > sinceMs,
  ).length;
  return {
    facts,
    entry: handoverEntryOf(facts, zone, directory),
    offer: facts.offers.findLast((one) => sameOwner(one.from, facts.owner)),
    newEntries,
  };
}

export function handoverViewOf(
  patients: readonly PatientFacts[],
  me: Person,
  zone: string,
  directory: Directory,
  nowMs: number,
): HandoverView {
  const cards = patients.map((facts) => cardOf(facts, zone, directory));
  const mine = cards.filter((card) => isHis(card.facts.owner, me));
  const toMe = cards.filter(
    (card) => card.offer !== undefined && isOfferedTo(card.offer, me) && !isHis(card.facts.owner, me),
  );
  const accepted = cards.flatMap((card) => {
    const last = card.facts.ownership.at(-1);
    const before = card.facts.ownership.at(-2);
    const given =
      last && before && isHis(before.owner, me) && !isHis(last.owner, me) && nowMs - last.fromMs < recentMs;
    return given && last.owner.kind === 'person'
      ? [{ card, by: last.owner.person, atMs: last.fromMs, readBack: last.readBack ?? '' }]
      : [];
  });
  const othersOpen = cards.filter(
    (card) => card.offer !== undefined && !mine.includes(card) && !toMe.includes(card),
  );
  const shown = [...mine, ...toMe];
  return {
    toMe,
    mine,
    accepted,
    othersOpen,
    itemsShown: shown.reduce((sum, card) => sum + card.entry.items.length, 0),
    itemsInRecord: shown.reduce((sum, card) => sum + card.facts.due.length, 0),
  };
}

/** What the receiver says back, one piece a fact that may not be lost. */
export function readBackPieces(card: HandoverCard, zone: string): readonly string[] {
  const { facts } = card;
  const due = facts.due.slice(0, 3).map((item) => {
    const what =
      item.kind === 'look' || item.kind === 'step' ? labels.steps[item.step] : labels.dueKinds[item.kind];
    return `${what} ${item.overdue ? 'was due' : 'by'} ${clockOrDay(item.dueAtMs, facts.nowMs, zone)}`;
  });
  return [...(due.length > 0 ? due : ['Nothing is due']), `Limit ${whole(facts.limitMl)} mL`];
}

export interface Receiver {
  readonly value: string;
  readonly label: string;
  readonly to: { readonly toPerson: string } | { readonly toRole: Role; readonly toWard: string };
}

/** People of the ward who may take a patient, and roles for "whoever comes". Never nobody. */
export function receiversOf(me: Person, ward: Ward, directory: Directory): readonly Receiver[] {
  const people = directory.people
    .filter(
      (person) =>
        person.id !== me.id &&
        person.wards.includes(ward.id) &&
        mayWrite(person.role, 'ownership-accepted') &&
        person.role !== 'integration',
    )
    .map((person) => ({
      value: `person:${person.id}`,
      label: `${person.name}, ${labels.roles[person.role].toLowerCase()}`,
      to: { toPerson: person.id },
    }));
  const held = roles.filter(
    (role) =>
      role !== 'integration' &&
      mayWrite(role, 'ownership-accepted') &&
      directory.people.some((person) => person.role === role && person.wards.includes(ward.id)),
  );
  return [
    ...people,
    ...held.map((role) => ({
      value: `role:${role}`,
      label: `Whoever comes as ${labels.roles[role].toLowerCase()}`,
      to: { toRole: role, toWard: ward.id },
    })),
  ];
}
