/**
 * What may come in: every entry of a batch by itself, whole or not at all. Order of questions: is it an entry, is it
 * for this organisation, may this role write it, is its author who is signed in, is the patient known and within reach,
 * are the people it names known.
 *
 * In → out  anything → entries to keep, and refusals beside their ids
 */
import { controlIsOn, isEntryId, isRefusal, refuse, type Refusal } from '@ebbline/core/quantity';
import { checkEntry, isPractice, mayWrite, type Entry } from '@ebbline/core/record';
import { otherWardsPatient } from '../../reach.ts';
import type { Actor } from '../../rules.ts';
import type { Opening } from './opening.ts';

export interface IntakeContext {
  readonly actor: Actor;
  readonly nowMs: number;
  readonly organisation: string;
  readonly knowsPatient: (patient: string) => Promise<boolean>;
  readonly knowsPerson: (person: string) => boolean;
  readonly entryById: (id: string) => Promise<Entry | undefined>;
  /** Why this opening of another ward's patient is not taken, if it is not: opening.ts. */
  readonly openingRefusal: (entry: Opening) => Promise<Refusal | undefined>;
  /** May the actor record this for this patient: reach.ts. */
  readonly records: (entry: Entry, patient: string) => Promise<boolean>;
}

export interface Intake {
  readonly accepted: readonly Entry[];
  readonly refused: readonly { readonly id?: string; readonly refusal: Refusal }[];
}

const notForRole = (kind: string, role: string): Refusal =>
  refuse('server/not-for-this-role', {
    asked: 'Entry',
    found: `${kind} by the role ${role}`,
    allowed: 'what this role may record',
    todo: 'Ask somebody whose role allows it to record it.',
    where: 'kind',
  });

const unknownPatient = (where: string): Refusal =>
  refuse('server/unknown-patient', {
    asked: 'Entry',
    found: 'a patient who is not registered here',
    allowed: 'a registered patient, or a registration in the same batch',
    todo: 'Identify the patient again; register the patient first if they are new.',
    where,
  });

/** The other entry that this one changes the standing of, if it does. */
function targetOf(entry: Entry): string | undefined {
  if (entry.kind === 'withdrawn' || entry.kind === 'moved-to-patient') return entry.payload.of;
  return entry.corrects;
}

function peopleOf(entry: Entry): readonly (readonly [where: string, person: string | undefined])[] {
  if (entry.kind === 'ownership-offered') return [['payload.toPerson', entry.payload.toPerson]];
  if (entry.kind === 'watch-opened') return [['payload.owner', entry.payload.owner]];
  return [];
}

async function entryRefusal(
  entry: Entry,
  context: IntakeContext,
  batch: ReadonlyMap<string, Entry>,
  registering: ReadonlySet<string>,
): Promise<Refusal | undefined> {
  const { actor, organisation } = context;
  if (entry.organisation !== organisation) {
    return refuse('server/other-organisation', {
      asked: 'Entry',
      found: 'another organisation',
      allowed: 'the organisation that this server keeps the record of',
      todo: 'Check which server the tablet is connected to.',
      where: 'organisation',
    });
  }
  if (controlIsOn('H12-role')) {
    if (!mayWrite(actor.role, entry.kind)) return notForRole(entry.kind, actor.role);
    const target = targetOf(entry);
    const targeted =
      target === undefined ? undefined : (batch.get(target) ?? (await context.entryById(target)));
    if (targeted && !mayWrite(actor.role, targeted.kind))
      return notForRole(`${entry.kind} of ${targeted.kind}`, actor.role);
  }
  if (entry.author !== actor.id && actor.role !== 'integration' && controlIsOn('H12-author')) {
    return refuse('server/author-not-you', {
      asked: 'Entry',
      found: 'an author other than who is signed in',
      allowed: 'the signed-in person as author; whoever did it stands as operator',
      todo: 'Sign in as yourself and record it again.',
      where: 'author',
    });
  }
  // Practice names no patient; the check of the record has seen that it stands in its author's own record.
  if (!isPractice(entry) && controlIsOn('H1-unknown-patient')) {
    const known = async (patient: string): Promise<boolean> =>
      registering.has(patient) || (await context.knowsPatient(patient));
    if (!(await known(entry.patient))) return unknownPatient('patient');
    if (entry.kind === 'moved-to-patient' && !(await known(entry.payload.toPatient)))
      return unknownPatient('payload.toPatient');
  }
  if (entry.kind === 'opened-with-reason') return context.openingRefusal(entry);
  if (!isPractice(entry) && controlIsOn('H12-own-wards')) {
    // A new patient comes to one of the author's own wards; whoever is registering them may write for them.
    const reached = async (patient: string): Promise<boolean> =>
      (registering.has(patient) && entry.kind !== 'patient-registered') || context.records(entry, patient);
    const target = targetOf(entry);
    const targeted =
      target === undefined ? undefined : (batch.get(target) ?? (await context.entryById(target)));
    const about = new Set([
      entry.patient,
      ...(entry.kind === 'moved-to-patient' ? [entry.payload.toPatient] : []),
      ...(targeted === undefined ? [] : [targeted.patient]),
    ]);
    for (const patient of about) if (!(await reached(patient))) return otherWardsPatient();
  }
  if (controlIsOn('H13-unknown-person')) {
    for (const [where, person] of peopleOf(entry)) {
      if (person === undefined || context.knowsPerson(person)) continue;
      return refuse('server/unknown-person', {
        asked: 'Entry',
        found: 'a person who is not in the directory',
        allowed: 'people of the directory, or a role',
        todo: 'Choose somebody from the list.',
        where,
      });
    }
  }
  return undefined;
}

export async function checkIntake(values: readonly unknown[], context: IntakeContext): Promise<Intake> {
  const refused: { id?: string; refusal: Refusal }[] = [];
  const entries: Entry[] = [];
  for (const value of values) {
    const entry = checkEntry(value, context.nowMs);
    if (!isRefusal(entry)) {
      entries.push(entry);
      continue;
    }
    const id = (value as { id?: unknown } | null)?.id;
    refused.push({ ...(isEntryId(id) ? { id } : {}), refusal: entry });
  }
  const batch = new Map(entries.map((entry) => [entry.id, entry]));
  // A registration counts for its batch only when it may itself come in.
  const registering = new Set<string>();
  for (const entry of entries) {
    if (entry.kind !== 'patient-registered') continue;
    if ((await entryRefusal(entry, context, batch, new Set([entry.patient]))) === undefined)
      registering.add(entry.patient);
  }
  const accepted: Entry[] = [];
  for (const entry of entries) {
    const refusal = await entryRefusal(entry, context, batch, registering);
    if (refusal === undefined) accepted.push(entry);
    else refused.push({ id: entry.id, refusal });
  }
  return { accepted, refused };
}
