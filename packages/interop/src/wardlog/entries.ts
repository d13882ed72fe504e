/**
 * A ward log as entries of the record.
 *
 * In        a log that `readWardLog` accepted, the ward it is of, the organisation that takes it in, its zone
 * Out       entries and the people, ward and scanners that they name. The same log gives the same entries with the
 *           same ids, so that taking it in twice adds nothing.
 * Mapping   one line may become several entries (a watch line: registration, watch, weight, capacity, limit,
 *           cautions, catheter). `replaces` becomes `corrects`, `withdrawn` an entry of that name, a line in another
 *           chart `moved-to-patient`, followed by a correction when more than the chart was wrong.
 * Not for   names, beds and record numbers: the log has none; the patient's own id stands in for all three
 * Source    S-wardlog-1
 */
import { instantMs, uuidOfText } from '@ebbline/core/quantity';
import {
  defaultSettings,
  type Caution,
  type Directory,
  type Doubt,
  type Entry,
  type EntryKind,
  type Person,
  type Scanner,
  type WatchSetting,
} from '@ebbline/core/record';
import { madeOnDevice, madeOnTyped, padMl, placeNotes, unnamedAuthor } from './stand-ins.ts';
import type { WardLine, WatchLine, WithdrawnLine } from './line.ts';
import type { WardLog } from './read.ts';

export { wardLogOfEntries, type WrittenWardLog, type WrittenWardLogs } from './from-entries.ts';

export interface WardLogOrigin {
  readonly organisation: string;
  readonly ward: string;
  readonly zone: string;
}

export interface WardLogEntries {
  readonly entries: readonly Entry[];
  readonly directory: Directory;
  /** How many entries of each kind the lines became. */
  readonly counts: Readonly<Partial<Record<EntryKind, number>>>;
  readonly lines: number;
}

export const prefixed = (ward: string, id: string): string =>
  id.startsWith(`${ward}-`) ? id : `${ward}-${id}`;

/** The id of the entry that a part of a line becomes; a line of one part names it by its kind. */
export const entryIdOf = (
  { organisation, ward }: Pick<WardLogOrigin, 'organisation' | 'ward'>,
  line: string,
  part: string,
): string => uuidOfText(`wardlog-1/${organisation}/${ward}/${line}/${part}`);

interface Part {
  readonly name: string;
  readonly kind: EntryKind;
  readonly payload: unknown;
}

interface KeptPart {
  readonly id: string;
  readonly kind: EntryKind;
  /** Whose record the entry was written in. */
  readonly writtenIn: string;
  readonly content: string;
}

const settingOf = (setting: WatchLine['setting']): WatchSetting =>
  setting === 'stroke' ? 'stroke-or-rehabilitation' : setting;

function watchParts(line: WatchLine, alreadyIn: boolean): readonly Part[] {
  return [
    {
      name: 'watch',
      kind: 'watch-opened',
      payload: {
        setting: settingOf(line.setting),
        reason: 'As opened in the ward log.',
        ...(line.lastVoidAt === undefined ? {} : { lastVoidAt: line.lastVoidAt }),
      },
    },
    { name: 'weight', kind: 'context', payload: { topic: 'weight-kg', value: line.weightKg } },
    ...(line.ownCapacityMl === undefined
      ? []
      : [
          {
            name: 'capacity',
            kind: 'context' as const,
            payload: { topic: 'own-capacity-ml', value: line.ownCapacityMl },
          },
        ]),
    {
      name: 'limit',
      kind: 'context',
      payload: {
        topic: 'limit-ml',
        value: line.limitMl,
        limitSource: line.limitMl === line.ownCapacityMl ? 'own-capacity' : 'unit',
      },
    },
    ...line.cautions.map((caution) => ({
      name: `caution-${caution}`,
      kind: 'caution' as const,
      payload: { caution: caution as Caution, present: true },
    })),
    ...(line.catheterInPlace && !alreadyIn
      ? [
          {
            name: 'catheter',
            kind: 'catheter-placed' as const,
            payload: { route: 'urethral', reason: 'other', note: 'In place when the watch was opened.' },
          },
        ]
      : []),
  ];
}

function partsOf(
  line: Exclude<WardLine, WithdrawnLine>,
  origin: WardLogOrigin,
  alreadyIn: boolean,
): readonly Part[] {
  const one = (kind: EntryKind, payload: unknown): readonly Part[] => [{ name: line.kind, kind, payload }];
  const operator = line.operator === undefined ? {} : { operator: prefixed(origin.ward, line.operator) };
  switch (line.kind) {
    case 'watch':
      return watchParts(line, alreadyIn);
    case 'context':
      return one('context', {
        topic: line.topic,
        state: line.state,
        ...(line.route === 'oral' || line.route === 'iv' ? { route: line.route } : {}),
        ...(line.doseMg === undefined ? {} : { value: line.doseMg }),
      });
    case 'intake':
      return one('intake', {
        volumeMl: line.volumeMl,
        route: line.route,
        ...(line.overMin === undefined ? {} : { overMin: line.overMin }),
      });
    case 'void': {
      const how = line.measured
        ? line.class === 'mixed-stool'
          ? 'mixed'
          : 'measured'
        : line.padG !== undefined
          ? 'pad-weighed'
          : line.class === 'bed'
            ? 'lost'
            : 'not-measured';
      const place =
        line.class === 'shower'
          ? placeNotes.shower
          : line.class === 'pad' && line.padG === undefined
            ? placeNotes.pad
            : undefined;
      return one('void', {
        how,
        ...(line.measured && line.volumeMl !== undefined ? { volumeMl: line.volumeMl } : {}),
        ...(line.padG === undefined ? {} : { padG: line.padG }),
        ...(line.size === undefined ? {} : { size: line.size }),
        ...(line.class === 'pad' && line.padG === undefined && line.size !== undefined
          ? { lowMl: padMl[line.size][0], highMl: padMl[line.size][1] }
          : {}),
        ...(line.sinceAt === undefined ? {} : { sinceAt: line.sinceAt }),
        ...(place === undefined ? {} : { note: place }),
      });
    }
    case 'reading':
      return one('reading', {
        result: line.bound,
        volumeMl: line.volumeMl,
        relation: line.afterVoid ? 'after-void' : 'no-void',
        ...(line.afterVoid && line.minutesSinceVoid !== undefined
          ? { sinceVoidMin: line.minutesSinceVoid }
          : {}),
        look: line.look,
        ...(line.device === undefined ? {} : { scanner: prefixed(origin.ward, line.device) }),
        ...operator,
        doubts: line.doubts as readonly Doubt[],
        source: line.source,
      });
    case 'drained':
      return one('drained', {
        route: line.route === 'indwelling' ? 'left-in' : 'in-out',
        ...(line.measured && line.volumeMl !== undefined ? { volumeMl: line.volumeMl } : {}),
        ...operator,
      });
    case 'catheter':
      if (line.action === 'inserted') return one('catheter-placed', { route: 'urethral', reason: 'other' });
      return line.action === 'removed'
        ? one('catheter-removed', { reason: 'other' })
        : one('catheter-status', { status: 'flushed' });
    case 'bag':
      return one('bag-read', { volumeMl: line.volumeMl, sinceAt: line.sinceAt, emptied: line.emptied });
    case 'symptom':
      return one('symptom', {
        symptom: line.symptom,
        ...(line.severity === undefined ? {} : { severity: line.severity }),
      });
  }
}

/** Was a catheter in when this watch opened, by the lines recorded before it? */
function catheterInBefore(log: WardLog, watch: WatchLine): boolean {
  const earlier = log.lines.filter(
    (line) =>
      line.patient === watch.patient &&
      line.recordedAtMs <= watch.recordedAtMs &&
      line.line !== watch.line &&
      line.atMs <= watch.atMs,
  );
  const last = earlier
    .filter(
      (line) =>
        (line.kind === 'catheter' && line.action !== 'flushed') ||
        (line.kind === 'watch' && line.catheterInPlace),
    )
    .sort((a, b) => a.atMs - b.atMs || a.line - b.line)
    .at(-1);
  return (
    last !== undefined &&
    (last.kind === 'watch' || (last.kind === 'catheter' && last.action === 'inserted')) &&
    watch.replaces !== last.id
  );
}

const standIn = (patient: string): { family: string; bed: string } => {
  const tail = patient.split('-').at(-1) ?? patient;
  return { family: tail, bed: tail.replace(/^[A-Za-z]+0*/, '') || tail };
};

export function entriesOfWardLog(log: WardLog, origin: WardLogOrigin): WardLogEntries {
  const entries: Entry[] = [];
  const kept = new Map<string, Map<string, KeptPart>>();
  const people = new Map<string, Person>();
  const scanners = new Map<string, Scanner>();
  const registered = new Map<string, string>();
  const beds = new Set<string>();
  const idOf = (line: string, part: string): string => entryIdOf(origin, line, part);

  const author = (line: WardLine): string => {
    const id =
      line.operator === undefined ? unnamedAuthor(origin.ward) : prefixed(origin.ward, line.operator);
    if (!people.has(id)) {
      const name = line.operator ?? 'Not named in the log';
      people.set(id, { id, name, initials: line.operator ?? '?', role: 'nurse', wards: [origin.ward] });
    }
    return id;
  };
  const push = (
    line: WardLine,
    id: string,
    kind: EntryKind,
    payload: unknown,
    more: { patient?: string; effectiveAt?: string; corrects?: string } = {},
  ): void => {
    entries.push({
      id,
      organisation: origin.organisation,
      patient: more.patient ?? prefixed(origin.ward, line.patient),
      kind,
      effectiveAt: more.effectiveAt ?? line.at,
      timeQuality: more.effectiveAt === undefined ? line.atQuality : 'exact',
      recordedAt: line.recordedAt,
      author: author(line),
      madeOn: line.source === 'device' ? madeOnDevice : madeOnTyped,
      ...(more.corrects === undefined ? {} : { corrects: more.corrects }),
      payload,
    } as Entry);
  };
  /** The patient becomes known with the first line; age and sex follow with the watch. */
  const register = (line: WardLine): void => {
    const patient = prefixed(origin.ward, line.patient);
    const before = registered.get(patient);
    if (before !== undefined && line.kind !== 'watch') return;
    const { family, bed } = standIn(patient);
    beds.add(bed);
    const id = idOf(line.id, 'registration');
    const known =
      line.kind === 'watch' ? { sex: line.sex, ageYears: line.ageY } : { sex: 'unknown' as const };
    push(
      line,
      id,
      'patient-registered',
      {
        familyName: family,
        givenName: 'Patient',
        ...known,
        identifierSystem: `urn:ward-log:${origin.ward}`,
        identifierValue: line.patient,
        ward: origin.ward,
        bed,
      },
      before === undefined ? {} : { corrects: before },
    );
    registered.set(patient, id);
  };

  for (const line of log.lines) {
    const patient = prefixed(origin.ward, line.patient);
    const old = line.replaces === undefined ? undefined : kept.get(line.replaces);
    if (line.kind === 'withdrawn') {
      for (const [name, part] of old ?? [])
        push(
          line,
          idOf(line.id, `withdrawn-${name}`),
          'withdrawn',
          { of: part.id, reason: line.reason ?? 'other' },
          { patient, effectiveAt: line.recordedAt },
        );
      kept.set(line.id, new Map());
      continue;
    }
    register(line);
    if (line.kind === 'reading' && line.device !== undefined) {
      const id = prefixed(origin.ward, line.device);
      scanners.set(id, { id, name: line.device, ward: origin.ward });
    }
    const parts = partsOf(line, origin, line.kind === 'watch' && catheterInBefore(log, line));
    const mine = new Map<string, KeptPart>();
    for (const part of parts) {
      const content = JSON.stringify([
        part.kind,
        part.payload,
        line.atMs,
        line.atQuality,
        line.operator ?? '',
      ]);
      const before = old?.get(part.name);
      const sameKind = before !== undefined && before.kind === part.kind;
      const moves = sameKind && before.writtenIn !== patient;
      if (moves)
        push(
          line,
          idOf(line.id, `moved-${part.name}`),
          'moved-to-patient',
          { of: before.id, toPatient: patient, reason: line.reason ?? 'wrong-patient' },
          { patient: before.writtenIn, effectiveAt: line.recordedAt },
        );
      if (moves && before.content === content) {
        mine.set(part.name, before);
        continue;
      }
      const id = idOf(line.id, part.name);
      push(line, id, part.kind, part.payload, sameKind ? { corrects: before.id } : {});
      mine.set(part.name, { id, kind: part.kind, writtenIn: patient, content });
    }
    for (const [name, part] of old ?? []) {
      if (mine.get(name)?.kind === part.kind) continue;
      push(
        line,
        idOf(line.id, `withdrawn-${name}`),
        'withdrawn',
        { of: part.id, reason: line.reason ?? 'other' },
        { patient: part.writtenIn, effectiveAt: line.recordedAt },
      );
    }
    kept.set(line.id, mine);
  }

  const counts: Partial<Record<EntryKind, number>> = {};
  for (const entry of entries) counts[entry.kind] = (counts[entry.kind] ?? 0) + 1;
  return {
    entries: entries.toSorted((a, b) => instantMs(a.recordedAt) - instantMs(b.recordedAt)),
    counts,
    lines: log.lines.length,
    directory: {
      organisation: origin.organisation,
      wards: [
        {
          id: origin.ward,
          name: origin.ward,
          purpose: 'Taken in from a ward log',
          hospital: origin.organisation,
          zone: origin.zone,
          beds: [...beds].sort((a, b) => a.localeCompare(b, 'en', { numeric: true })),
          settings: defaultSettings,
          shiftChanges: ['07:00', '19:00'],
        },
      ],
      people: [...people.values()],
      scanners: [...scanners.values()],
    },
  };
}
