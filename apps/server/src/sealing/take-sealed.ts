/**
 * Takes sealed entries in, whoever carries them: opened, their author's mark checked, asked the same questions as any
 * entry of that author in the role of that time, kept under the carrier's name in the audit. What the record does not
 * take is held for a person.
 *
 * In → out  sealed entries → ids that are settled here (in the record, or held), and refusals of those that stay where
 *           they are
 */
import {
  controlIsOn,
  instantOfMs,
  isRefusal,
  readInstant,
  refuse,
  type Refusal,
} from '@ebbline/core/quantity';
import type { Entry } from '@ebbline/core/record';
import { markHolds, openSealed, readVoucher, type SealedEntry, type Voucher } from '@ebbline/store/sealed';
import type { Parts } from '../parts.ts';
import { openings } from '../routes/entries/opening.ts';
import { checkIntake } from '../routes/entries/check-intake.ts';
import type { Actor } from '../rules.ts';
import type { HeldEntry } from './held-book.ts';

/** Most entries that wait for a person; beyond it they stay on the tablets. */
export const mostHeld = 2_000;
/** Who carries when nobody is signed in: the mark alone then says whose an entry is. */
export const lockedTablet = 'locked-tablet';

export interface SealedReport {
  readonly kept: readonly string[];
  readonly held: readonly string[];
  readonly refused: readonly { readonly id: string; readonly refusal: Refusal }[];
}

const said = (code: string, found: string, todo: string): Refusal =>
  refuse(code, {
    asked: 'Carried entry',
    found,
    allowed: 'an entry made while its author was signed in',
    todo,
  });
const notOpened = (): Refusal =>
  said(
    'server/not-opened',
    'a box that this server has no key to',
    'Restore the sealing key from a backup, or enter it again.',
  );
const notVouched = (): Refusal =>
  said('server/not-vouched', 'no proof of who wrote it', 'Its author has to say that it is theirs.');

interface Opened {
  readonly sealed: SealedEntry;
  readonly author: string | undefined;
  readonly value: unknown;
  readonly voucher: Voucher | undefined;
  readonly refusal: Refusal | undefined;
}

async function opened(parts: Parts, sealed: SealedEntry): Promise<Opened> {
  const { sealing } = parts;
  const box = sealed.key === sealing.id ? await openSealed(sealed, sealing.pair) : undefined;
  let value: unknown;
  try {
    value = JSON.parse(box?.text ?? '');
  } catch {
    value = undefined;
  }
  const entry = value as Partial<Entry> | undefined | null;
  if (box === undefined || entry === undefined || entry === null || entry.id !== sealed.id)
    return { sealed, author: undefined, value, voucher: undefined, refusal: notOpened() };
  const author = typeof entry.author === 'string' ? entry.author : undefined;
  const voucher = box.voucher === undefined ? undefined : readVoucher(box.voucher);
  const recordedMs = typeof entry.recordedAt === 'string' ? readInstant(entry.recordedAt) : undefined;
  const holds =
    voucher !== undefined &&
    voucher.person === author &&
    recordedMs !== undefined &&
    !isRefusal(recordedMs) &&
    recordedMs <= voucher.untilMs &&
    (await markHolds(sealing.voucherSecret, box.voucher ?? '', box.mark ?? '', box.text));
  if (holds || (voucher !== undefined && !controlIsOn('H19-vouched')))
    return { sealed, author, value, voucher, refusal: undefined };
  return { sealed, author, value, voucher: undefined, refusal: notVouched() };
}

/** The author as they were when the voucher was given. */
function actorOf(parts: Parts, voucher: Voucher): Actor {
  const now = parts.directory.person(voucher.person);
  const { person: id, role, wards } = voucher;
  return {
    kind: 'person',
    id,
    role,
    person: { id, name: now?.name ?? id, initials: now?.initials ?? '', role, wards },
  };
}

/** Keeps what the record takes; gives why it did not take the others. */
export async function keepAs(
  parts: Parts,
  actor: Actor,
  values: readonly unknown[],
  carrier: string,
): Promise<ReadonlyMap<string, Refusal | undefined>> {
  const { store, directory, now } = parts;
  const nowMs = now();
  const intake = await checkIntake(values, {
    actor,
    nowMs,
    organisation: store.organisation,
    knowsPatient: (patient) => store.knowsPatient(patient),
    knowsPerson: (person) => directory.person(person) !== undefined,
    entryById: async (id) => (await store.byId(id))?.entry,
    openingRefusal: openings(store, directory, actor, nowMs),
    records: (entry, patient) => parts.reaches.records(actor, entry, patient, nowMs),
  });
  const result = await store.append(intake.accepted, { receivedAt: instantOfMs(nowMs), actor: carrier });
  const answers = new Map<string, Refusal | undefined>();
  for (const { entry } of result.kept) answers.set(entry.id, undefined);
  for (const { id, refusal } of [...intake.refused, ...result.refused])
    if (id !== undefined) answers.set(id, refusal);
  return answers;
}

/** @param carrier who is signed in where they come from; undefined when nobody is */
export async function takeSealed(
  parts: Parts,
  boxes: readonly SealedEntry[],
  carrier: string | undefined,
): Promise<SealedReport> {
  const by = carrier ?? lockedTablet;
  const held: HeldEntry[] = [];
  const kept: string[] = [];
  const refused: { id: string; refusal: Refusal }[] = [];
  const hold = (one: Opened, refusal: Refusal): void => {
    // What anybody could have made is held only when somebody answers for having brought it.
    const mayHold = one.voucher !== undefined || carrier !== undefined;
    if (!mayHold || parts.held.all().length + held.length >= mostHeld) {
      refused.push({ id: one.sealed.id, refusal });
      return;
    }
    const { sealed, author } = one;
    held.push({
      sealed,
      author,
      vouched: one.voucher !== undefined,
      refusal,
      carrier: by,
      atMs: parts.now(),
    });
  };
  // In the order in which they were made: a registration before what was recorded for the patient.
  const inOrder = [...boxes].sort((a, b) => (a.id < b.id ? -1 : 1));
  const all = await Promise.all(inOrder.map((sealed) => opened(parts, sealed)));
  let run: Opened[] = [];
  const close = async (): Promise<void> => {
    const voucher = run[0]?.voucher;
    if (voucher === undefined) return;
    const values = run.map(({ value }) => value);
    const answers = await keepAs(parts, actorOf(parts, voucher), values, by);
    for (const one of run) {
      const { id } = one.sealed;
      const refusal = answers.has(id) ? answers.get(id) : notOpened();
      if (refusal === undefined) kept.push(id);
      else hold(one, refusal);
    }
    run = [];
  };
  for (const one of all) {
    if (one.voucher === undefined) {
      hold(one, one.refusal ?? notVouched());
      continue;
    }
    if (run[0] !== undefined && JSON.stringify(run[0].voucher) !== JSON.stringify(one.voucher)) await close();
    run.push(one);
  }
  await close();
  await parts.held.add(held);
  for (const { sealed } of held)
    await parts.store.note({ at: instantOfMs(parts.now()), actor: by, action: 'held', subject: sealed.id });
  return { kept, held: held.map(({ sealed }) => sealed.id), refused };
}

/** Tries those again whose author is proved: what was missing when they came may have come since. */
export async function tryHeldAgain(parts: Parts): Promise<void> {
  const proved = parts.held.all().filter(({ vouched }) => vouched);
  for (const one of [...proved].sort((a, b) => (a.sealed.id < b.sealed.id ? -1 : 1))) {
    const { voucher, value } = await opened(parts, one.sealed);
    if (voucher === undefined) continue;
    const answers = await keepAs(parts, actorOf(parts, voucher), [value], one.carrier);
    if (answers.has(one.sealed.id) && answers.get(one.sealed.id) === undefined)
      await parts.held.remove(one.sealed.id);
  }
}

/** The entry in a held box; undefined when it cannot be opened. */
export async function heldContent(parts: Parts, held: HeldEntry): Promise<unknown> {
  return (await opened(parts, held.sealed)).value;
}
