import {
  clockTime,
  instantInZone,
  instantMs,
  instantsOfWallClock,
  minuteMs,
  uuidOfText,
  uuidV7,
  type EntryId,
} from '@ebbline/core/quantity';
import type { Entry, EntryKind, PayloadOf, TimeQuality } from '@ebbline/core/record';
import { exampleRows, type ExampleRowName } from '../stories/example-rows.ts';

/** Payload of an advised step. */
export type AdvisedStep = PayloadOf<'step-advised'>;

/**
 * Answers for the protocol when the caller has one; without it, the made-up record quotes the example rows.
 *
 * @param entries what the patient's record holds so far, the entry that asks included
 * @param because the entry that led to the question
 */
export type Advise = (entries: readonly Entry[], because: Entry) => AdvisedStep | undefined;

/** Where and how a chart is written. */
export interface ChartOptions {
  readonly organisation: string;
  readonly patient: string;
  readonly zone: string;
  /** Same seed, same entry ids. */
  readonly seed: number;
  /** Nothing recorded after this is kept. */
  readonly untilMs?: number | undefined;
  readonly advise?: Advise | undefined;
}

export interface EntryOptions {
  /** Minutes between the event and its charting. */
  readonly lateMin?: number;
  readonly timeQuality?: TimeQuality;
  readonly madeOn?: string;
  readonly corrects?: EntryId;
}

/** Ten bytes that depend only on a text, for ids that are the same on every run. */
function bytesOf(text: string): readonly number[] {
  const hex = uuidOfText(text).replaceAll('-', '');
  return Array.from({ length: 10 }, (_, index) => Number.parseInt(hex.slice(index * 3, index * 3 + 2), 16));
}

/** An entry id that depends only on its time and a text. */
function repeatableId(milliseconds: number, text: string): EntryId {
  return uuidV7(milliseconds, bytesOf(text));
}

/** First instant at which the zone's wall clock shows this day and time. */
export function instantOfWall(day: string, time: string, zone: string): number {
  const [year = 0, month = 0, date = 0] = day.split('-').map(Number);
  const [hour = 0, minute = 0] = time.split(':').map(Number);
  const found = instantsOfWallClock({ year, month, day: date, hour, minute }, zone)[0];
  if (found === undefined) throw new Error(`${day} ${time} does not exist in ${zone}`);
  return found;
}

/**
 * Writes one made-up patient's record entry by entry: ids, instants and authors filled in, the future left out.
 *
 * Units     milliseconds since the epoch in; instants with the zone's offset out
 */
export interface Chart {
  readonly patient: string;
  add<Kind extends EntryKind>(
    kind: Kind,
    atMs: number,
    author: string,
    payload: PayloadOf<Kind>,
    options?: EntryOptions,
  ): Entry;
  /** Writes what the protocol (or the example row) answers to an entry. */
  advise(
    because: Entry,
    row: ExampleRowName,
    change?: { readonly dueAtMs?: number; readonly why?: string },
  ): Entry;
  /** What was recorded by `untilMs`, in the order of writing. */
  readonly entries: readonly Entry[];
  readonly clock: (atMs: number) => string;
}

export function openChart(options: ChartOptions): Chart {
  const { organisation, patient, zone, seed, untilMs = Infinity, advise } = options;
  const entries: Entry[] = [];
  let count = 0;
  const write = (
    kind: EntryKind,
    atMs: number,
    recordedMs: number,
    author: string,
    payload: unknown,
    extra: EntryOptions,
  ): Entry => {
    count += 1;
    const entry = {
      id: repeatableId(recordedMs, `${seed}/${patient}/${count}/${kind}`),
      organisation,
      patient,
      kind,
      effectiveAt: instantInZone(atMs, zone),
      timeQuality: extra.timeQuality ?? 'exact',
      recordedAt: instantInZone(recordedMs, zone),
      author,
      madeOn: extra.madeOn ?? 'tablet-2',
      ...(extra.corrects === undefined ? {} : { corrects: extra.corrects }),
      payload,
    } as Entry;
    if (recordedMs <= untilMs && atMs <= untilMs) entries.push(entry);
    return entry;
  };
  const chart: Chart = {
    patient,
    entries,
    clock: (atMs) => clockTime(atMs, zone),
    add: (kind, atMs, author, payload, extra = {}) =>
      write(kind, atMs, atMs + (extra.lateMin ?? 0) * minuteMs, author, payload, extra),
    advise: (because, rowName, change = {}) => {
      const row = exampleRows[rowName];
      const recordedMs = instantMs(because.recordedAt);
      const askedMs = instantMs(because.effectiveAt);
      // An entry charted long after the event is answered when it is charted: nobody was told before.
      const atMs = recordedMs - askedMs > 5 * minuteMs ? recordedMs : askedMs;
      const example: AdvisedStep = {
        step: row.step,
        dueAt: instantInZone(change.dueAtMs ?? atMs + row.dueInMin * minuteMs, zone),
        ownerRole: row.ownerRole,
        why: change.why ?? row.rowText,
        ...('tell' in row ? { tell: row.tell } : {}),
        rowId: row.rowId,
        rowText: row.rowText,
        rowSourceId: row.rowSourceId,
        protocolId: row.protocolId,
        protocolVersion: 1,
        protocolApproval: 'example-not-approved',
        becauseOf: because.id,
      };
      const payload = advise?.(entries, because) ?? example;
      return write('step-advised', atMs, recordedMs + 1000, because.author, payload, {
        madeOn: because.madeOn,
      });
    },
  };
  return chart;
}
