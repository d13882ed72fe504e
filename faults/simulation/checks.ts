/**
 * What must hold, whatever happened. Each check throws `Broken` with what was found.
 */
import { instantMs, type RandomSource } from '@ebbline/core/quantity';
import {
  entriesByPatient,
  foldPatient,
  liveEntries,
  ownershipOf,
  resolveEntries,
  sameOwner,
  type Owner,
} from '@ebbline/core/facts';
import { defaultSettings, type Entry, type KeptEntry } from '@ebbline/core/record';
import { canonicalText, verifyStore, type EntryStore } from '@ebbline/store';
import { nodeDigest } from '@ebbline/store/sqlite';
import { isRefusal } from '@ebbline/core/quantity';
import { Broken, type Ledger } from './ledger.ts';
import { modelOwner, standings } from './model.ts';
import type { Arrival, TabletSide } from './tablet-side.ts';
import { directory } from './unit.ts';

const short = (id: string): string => id.slice(-6);

/** The one fault of a saved entry that is nobody's mistake in here: a tablet whose clock runs ahead. */
const mayBeRefusedFor = new Set(['record/in-the-future']);

function twice(ids: readonly string[]): string | undefined {
  const seen = new Set<string>();
  return ids.find((id) => (seen.has(id) ? true : (seen.add(id), false)));
}

/** Every promise stands in the record once, word for word; nothing stands there that nobody wrote. */
export async function checkRecord(
  disk: EntryStore,
  ledger: Ledger,
  tablets: readonly TabletSide[],
): Promise<readonly KeptEntry[]> {
  const kept = await disk.after(0, 100_000);
  const doubled = twice(kept.map(({ entry }) => entry.id));
  if (doubled !== undefined) throw new Broken(`${short(doubled)} stands in the record twice`);
  const byId = new Map(kept.map(({ entry }) => [entry.id, entry]));
  for (const [index, { sequence }] of kept.entries())
    if (sequence !== index + 1) throw new Broken(`sequence ${sequence} stands in place ${index + 1}`);
  for (const id of ledger.acknowledged)
    if (!byId.has(id)) throw new Broken(`${short(id)} was answered "kept" and is not in the record`);
  const refused = new Map<string, string>();
  const allRefused = (await Promise.all(tablets.map(({ disk: local }) => local.refused()))).flat();
  const notRegistered = new Set(
    allRefused.filter(({ entry }) => entry.kind === 'patient-registered').map(({ entry }) => entry.patient),
  );
  for (const tablet of tablets)
    for (const { entry, refusal } of await tablet.disk.refused()) {
      const named = [entry.patient, entry.kind === 'moved-to-patient' ? entry.payload.toPatient : ''];
      const forRegistration =
        refusal.code === 'server/unknown-patient' && named.some((one) => notRegistered.has(one));
      if (!forRegistration && !mayBeRefusedFor.has(refusal.code))
        throw new Broken(
          `${short(entry.id)} ${entry.kind} saved on ${tablet.name} was refused: ${refusal.code}`,
        );
      refused.set(entry.id, refusal.code);
    }
  for (const id of ledger.saved) {
    if (byId.has(id)) continue;
    if (!refused.has(id))
      throw new Broken(`${short(id)} was saved and is neither in the record nor shown as refused`);
  }
  for (const { entry } of kept) {
    const promised = ledger.written.get(entry.id);
    if (!promised) throw new Broken(`${short(entry.id)} is in the record and nobody wrote it`);
    if (promised.content !== canonicalText(entry))
      throw new Broken(`${short(entry.id)} is in the record otherwise than it was written`);
  }
  const verified = await verifyStore(disk, nodeDigest);
  if (isRefusal(verified)) throw new Broken(`the chain does not verify: ${verified.found}`);
  return kept;
}

/** Undefined when this tablet holds what the record holds and has nothing left to send; else what is missing. */
export function behind(
  tablet: TabletSide,
  record: ReadonlySet<string>,
  refused: ReadonlySet<string>,
): string | undefined {
  const { replica } = tablet;
  if (!replica) return `${tablet.name} is not open`;
  if (replica.waiting() > 0) return `${tablet.name} still has ${replica.waiting()} to send`;
  const ids = replica.entries().map(({ id }) => id);
  const doubled = twice(ids);
  if (doubled !== undefined) throw new Broken(`${tablet.name} holds ${short(doubled)} twice`);
  const held = ids.filter((id) => record.has(id)).length;
  if (held < record.size) return `${tablet.name} lacks ${record.size - held} of ${record.size}`;
  const extra = ids.find((id) => !record.has(id) && !refused.has(id));
  return extra === undefined ? undefined : `${tablet.name} holds ${short(extra)}, which the record does not`;
}

/** What lies in the browser is what the page shows, each once. */
export async function checkLocal(tablet: TabletSide): Promise<void> {
  const stored = (await tablet.disk.entries()).map(({ id }) => id);
  const doubled = twice(stored);
  if (doubled !== undefined) throw new Broken(`${tablet.name} keeps ${short(doubled)} twice`);
  const shown = new Set(tablet.replica?.entries().map(({ id }) => id));
  const lacking = stored.find((id) => !shown.has(id));
  if (lacking !== undefined || shown.size !== stored.length)
    throw new Broken(`${tablet.name} keeps ${stored.length} entries and shows ${shown.size}`);
}

/** No entry stands in a record other than the one it was written in or moved to, in the merged record or on a tablet. */
export function checkPlaces(entries: readonly Entry[], tablets: readonly TabletSide[]): void {
  const expected = standings(entries);
  const resolution = resolveEntries(entries);
  const byId = new Map(entries.map((entry) => [entry.id, entry]));
  const found = new Map<string, string>();
  for (const [patient, items] of resolution.byPatient)
    for (const { entry, standing } of items) {
      if (standing.state !== 'live') continue;
      if (entry.kind === 'moved-to-patient') continue;
      if (found.has(entry.id)) throw new Broken(`${short(entry.id)} counts for two patients`);
      found.set(entry.id, patient);
    }
  for (const [id, { home, counts }] of expected) {
    const place = found.get(id);
    const entry = byId.get(id);
    if (entry?.kind === 'moved-to-patient') continue;
    if (counts && place !== home)
      throw new Broken(`${short(id)} belongs to ${home} and stands with ${place ?? 'nobody'}`);
    if (!counts && place !== undefined) throw new Broken(`${short(id)} counts for ${place} and should not`);
  }
  const groups = entriesByPatient(entries);
  for (const [id, { home, counts }] of expected)
    if (counts && !groups.get(home)?.some((one) => one.id === id))
      throw new Broken(`${short(id)} belongs to ${home} and is left out of their course`);
  for (const { replica, name, disk: _disk } of tablets) {
    if (!replica) continue;
    for (const [patient, group] of groups) {
      const shown = new Set(replica.entriesOf(patient).map(({ id }) => id));
      const lacking = group.find(({ id }) => !shown.has(id));
      if (lacking) throw new Broken(`${name} leaves ${short(lacking.id)} out of ${patient}'s course`);
    }
  }
}

/** Facts that a tablet has kept up to date bit by bit equal those folded anew from the merged record. */
export function checkFacts(
  entries: readonly Entry[],
  tablet: TabletSide,
  nowMs: number,
  refused: ReadonlySet<string>,
): void {
  const { replica, name } = tablet;
  if (!replica) return;
  for (const [patient, group] of entriesByPatient(entries)) {
    const shown = replica.factsOf(patient);
    if (replica.entriesOf(patient).some(({ id }) => refused.has(id))) continue;
    const ward = directory.wards.find(({ id }) => id === shown.ward);
    const anew = foldPatient({
      patient,
      entries: group,
      nowMs: shown.nowMs,
      settings: ward?.settings ?? defaultSettings,
      zone: ward?.zone ?? 'UTC',
    });
    const told = (facts: typeof anew): string =>
      canonicalText({
        timeline: facts.timeline.map((one) => [one.entry.id, one.standing]),
        ward: facts.ward,
        bed: facts.bed,
        watch: facts.watch,
        owner: facts.owner,
        ownership: facts.ownership,
        offers: facts.offers,
        totals: facts.totals,
        readings: facts.readings,
        voids: facts.voids,
        drains: facts.drains,
        due: facts.due.map(({ key, owner }) => [key, owner]),
      });
    if (told(shown) !== told(anew))
      throw new Broken(`${name} shows other facts of ${patient} than the record gives`);
    for (const item of shown.due)
      if (!sameOwner(item.owner, shown.owner))
        throw new Broken(`${name}: an item of ${patient} has another owner`);
    if (shown.watch.state === 'open' && shown.due.length === 0)
      throw new Broken(`${name}: the open watch of ${patient} has nothing due`);
    void nowMs;
  }
}

const word = (owner: Owner): string => (owner.kind === 'person' ? owner.person : owner.role);

/** One owner at every moment, in what one replica held then; moments at which something may change stand for all. */
export function checkOwners(
  arrivals: readonly Arrival[],
  whose: string,
  fromMs: number,
  toMs: number,
  random: RandomSource,
  most: number,
): number {
  const moments = new Set([toMs]);
  for (const { atMs, entry } of arrivals)
    for (const ms of [atMs, instantMs(entry.effectiveAt), instantMs(entry.recordedAt)])
      if (ms >= fromMs && ms <= toMs) moments.add(ms);
  const all = [...moments];
  const chosen = all.length <= most ? all : Array.from({ length: most }, () => random.pick(all));
  let looked = 0;
  for (const nowMs of chosen) {
    const held: Entry[] = [];
    const seen = new Set<string>();
    for (const { atMs, entry } of arrivals) {
      if (atMs > nowMs || seen.has(entry.id)) continue;
      seen.add(entry.id);
      held.push(entry);
    }
    const resolution = resolveEntries(held);
    for (const patient of resolution.byPatient.keys()) {
      const { owner, spans } = ownershipOf(liveEntries(resolution, patient, nowMs), 'harbour', nowMs);
      const expected = modelOwner(held, patient, nowMs);
      looked += 1;
      if (word(owner) !== expected)
        throw new Broken(`${whose}: ${patient} is owned by ${word(owner)} and should be by ${expected}`);
      const last = spans.at(-1);
      if (last && !sameOwner(last.owner, owner))
        throw new Broken(`${whose}: the last span of ${patient} has another owner`);
    }
  }
  return looked;
}
