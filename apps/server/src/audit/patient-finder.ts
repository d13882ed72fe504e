/**
 * Finds a patient by name, identifier or bed, for somebody who may not read the record: it gives what is needed to tell
 * one patient from another, and nothing of what was recorded. Every name that ever stood is found, a misspelt one too.
 *
 * Reads the record on from its cursor when asked; only registrations and transfers are kept.
 */
import { setImmediate } from 'node:timers/promises';
import { instantMs } from '@ebbline/core/quantity';
import type { EntryStore } from '@ebbline/store';

const pageSize = 2_000;

export interface FoundPatient {
  readonly id: string;
  readonly familyName: string;
  readonly givenName: string;
  readonly identifier: string;
  readonly ward: string;
  readonly bed: string;
}

interface Known extends FoundPatient {
  /** Everything that it is found by, in small letters. */
  readonly text: string;
  readonly placedMs: number;
}

export interface PatientFinder {
  /** All words have to be found; the newest placed first. */
  find(words: string, limit: number): Promise<readonly FoundPatient[]>;
  byId(id: string): Promise<FoundPatient | undefined>;
}

const folded = (text: string): string =>
  text
    .normalize('NFKD')
    .replaceAll(/\p{Mn}/gu, '')
    .toLowerCase();

export function createPatientFinder(
  store: EntryStore,
  wardName: (id: string) => string | undefined,
): PatientFinder {
  const patients = new Map<string, Known>();
  let cursor = 0;
  let running: Promise<void> | undefined;

  const readOn = async (): Promise<void> => {
    for (;;) {
      const page = await store.after(cursor, pageSize);
      for (const { entry, sequence } of page) {
        cursor = sequence;
        if (entry.kind !== 'patient-registered' && entry.kind !== 'transferred') continue;
        const before = patients.get(entry.patient);
        const atMs = instantMs(entry.effectiveAt);
        const name =
          entry.kind === 'patient-registered'
            ? {
                familyName: entry.payload.familyName,
                givenName: entry.payload.givenName,
                identifier: entry.payload.identifierValue,
              }
            : {
                familyName: before?.familyName ?? '',
                givenName: before?.givenName ?? '',
                identifier: before?.identifier ?? '',
              };
        const newer = before === undefined || atMs >= before.placedMs;
        const { ward, bed } = newer ? entry.payload : before;
        const said = folded(`${Object.values(name).join(' ')}`);
        patients.set(entry.patient, {
          id: entry.patient,
          ...name,
          ward,
          bed,
          text: before?.text.includes(said) === true ? before.text : `${before?.text ?? ''} ${said}`,
          placedMs: newer ? atMs : before.placedMs,
        });
      }
      if (page.length < pageSize) return;
      await setImmediate();
    }
  };
  const caughtUp = (): Promise<void> =>
    (running ??= readOn().finally(() => {
      running = undefined;
    }));
  const plain = ({ text: _text, placedMs: _placedMs, ...found }: Known): FoundPatient => found;

  return {
    find: async (words, limit) => {
      await caughtUp();
      const asked = folded(words)
        .split(/[\s,]+/)
        .filter((word) => word !== '');
      if (asked.length === 0) return [];
      const placed = (one: Known): string => folded(`${wardName(one.ward) ?? one.ward} ${one.bed}`).trim();
      return [...patients.values()]
        .filter((one) => {
          const place = placed(one).split(/\s+/);
          return (
            asked.every((word) => one.text.includes(word)) ||
            // "harbour 3 4": a ward and a bed, each word whole.
            (asked.length > 1 && asked.every((word) => place.includes(word)) && place.at(-1) === asked.at(-1))
          );
        })
        .sort((a, b) => b.placedMs - a.placedMs)
        .slice(0, limit)
        .map(plain);
    },
    byId: async (id) => {
      await caughtUp();
      const found = patients.get(id);
      return found && plain(found);
    },
  };
}
