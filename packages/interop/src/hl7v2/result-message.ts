/**
 * One charted thing as a result message (ORU^R01) for the hospital's record.
 *
 *     OBR-3    the entry's own number; a correction keeps that of what it corrects, so that the receiver replaces it
 *     OBX-11   F as charted · C corrected · D withdrawn · W was another patient's · X nothing was obtained
 *
 * Units     mL, g, min as UCUM; what is only known as "at least" or between bounds is a structured number (SN)
 * Not for   kinds that the chart does not ask for: those give nothing
 * Source    HL7 v2.5.1 chapter 7, from memory (S-from-memory); field use S-hl7-tables; codes S-fhir-code-table
 */
import { instantMs } from '@ebbline/core/quantity';
import type { PatientFacts, TimelineEntry } from '@ebbline/core/facts';
import type { Directory, Entry } from '@ebbline/core/record';
import { codeTable, localSystem, type CodeKey, type CodeTable } from '../fhir/index.ts';
import {
  headerFrom,
  segmentFrom,
  usualDelimiters,
  type Message,
  type Segment,
  type Written,
} from './message.ts';
import { writeTime } from './time.ts';

export interface ResultInput {
  readonly item: TimelineEntry;
  /** Of the patient in whose record the item stands. */
  readonly facts: PatientFacts;
  readonly directory: Directory;
  readonly zone: string;
  readonly atMs: number;
  readonly controlId: string;
  readonly receiver?: { readonly application: string; readonly facility: string };
  /** The site's own table of codes; the shipped one when left out. */
  readonly codes?: CodeTable;
}

/** One line of the result. */
interface Line {
  readonly code: CodeKey;
  readonly type: 'NM' | 'SN' | 'CWE' | 'TX';
  readonly value?: Written;
  readonly unit?: 'mL' | 'g' | 'min';
  /** Why there is no value. */
  readonly absent?: string;
}

interface Result {
  /** What the whole is called. */
  readonly service: CodeKey;
  readonly lines: readonly Line[];
  readonly notes: readonly (string | undefined)[];
  readonly operator?: string;
  readonly scanner?: string;
}

const words = (word: string): string => {
  const text = word.replaceAll('-', ' ');
  return text.charAt(0).toUpperCase() + text.slice(1);
};
const between = (low: number | undefined, high: number | undefined): Written | undefined =>
  low === undefined && high === undefined ? undefined : ['', low, '-', high];

/** A volume in mL: exact, at least so much, between two bounds, or why there is none. */
function volumeLine(
  code: CodeKey,
  said: { volumeMl?: number; atLeast?: boolean; lowMl?: number; highMl?: number; absent: string },
): Line {
  const { volumeMl, atLeast = false, lowMl, highMl, absent } = said;
  if (volumeMl !== undefined)
    return atLeast
      ? { code, type: 'SN', value: ['>=', volumeMl], unit: 'mL' }
      : { code, type: 'NM', value: volumeMl, unit: 'mL' };
  const range = between(lowMl, highMl);
  return range === undefined
    ? { code, type: 'NM', unit: 'mL', absent }
    : { code, type: 'SN', value: range, unit: 'mL' };
}

function readingResult({ payload }: Extract<Entry, { kind: 'reading' }>): Result {
  const code = payload.relation === 'after-void' ? 'pvr-us' : 'bladder-volume-us';
  return {
    service: 'bladder-ultrasound',
    lines: [
      volumeLine(code, {
        ...(payload.result === 'not-obtained' || payload.volumeMl === undefined
          ? {}
          : { volumeMl: payload.volumeMl, atLeast: payload.result === 'at-least' }),
        absent: `Not obtained: ${words(payload.reasonNotObtained ?? 'other').toLowerCase()}`,
      }),
      ...(payload.lowMl === undefined && payload.highMl === undefined
        ? []
        : [
            {
              code: 'volume-interval',
              type: 'SN',
              value: between(payload.lowMl, payload.highMl),
              unit: 'mL',
            } as Line,
          ]),
      ...(payload.sinceVoidMin === undefined
        ? []
        : [{ code: 'time-since-void', type: 'NM', value: payload.sinceVoidMin, unit: 'min' } as Line]),
      ...payload.doubts.map((doubt): Line => ({
        code: 'reading-quality',
        type: 'CWE',
        value: [`doubt.${doubt}`, words(doubt), local],
      })),
    ],
    notes: [payload.note],
    ...(payload.operator === undefined ? {} : { operator: payload.operator }),
    ...(payload.scanner === undefined ? {} : { scanner: payload.scanner }),
  };
}

function voidResult({ payload }: Extract<Entry, { kind: 'void' }>): Result {
  const line: Line =
    payload.padG !== undefined
      ? { code: 'pad-weight-gain', type: 'NM', value: payload.padG, unit: 'g' }
      : volumeLine('voided-volume', {
          ...(payload.volumeMl === undefined ? {} : { volumeMl: payload.volumeMl }),
          ...(payload.lowMl === undefined ? {} : { lowMl: payload.lowMl }),
          ...(payload.highMl === undefined ? {} : { highMl: payload.highMl }),
          absent: payload.how === 'lost' ? 'Lost, not measured' : 'Passed, not measured',
        });
  return { service: 'voided-volume', lines: [line], notes: [words(payload.how), payload.note] };
}

function resultOf(entry: Entry): Result | undefined {
  switch (entry.kind) {
    case 'reading':
      return readingResult(entry);
    case 'void':
      return voidResult(entry);
    case 'drained': {
      const { payload } = entry;
      const code = payload.route === 'in-out' ? 'drained-in-out' : 'drained-indwelling';
      const volumeMl = payload.volumeMl === undefined ? {} : { volumeMl: payload.volumeMl };
      return {
        service: code,
        lines: [
          volumeLine(code, {
            ...volumeMl,
            absent: payload.difficulty === 'failed' ? 'It failed' : 'Not measured',
          }),
        ],
        notes: [payload.note],
        ...(payload.operator === undefined ? {} : { operator: payload.operator }),
      };
    }
    case 'step-advised': {
      const { payload } = entry;
      const approval =
        payload.protocolApproval === 'signed' ? 'signed by the unit' : 'an example, not approved';
      return {
        service: 'due-item',
        lines: [{ code: 'due-item', type: 'TX', value: words(payload.step) }],
        notes: [
          payload.why,
          `Advised by protocol ${payload.protocolId}, version ${payload.protocolVersion} (${approval}), row ${payload.rowId}. It advises; the clinician decides.`,
        ],
      };
    }
    default:
      return undefined;
  }
}

/** Name of our own list of codes in a message. */
const local = '99EBBLINE';

/** Our code first, the public one beside it. */
function coded(codes: CodeTable, key: CodeKey): Written {
  const { text, also } = codes[key];
  const [loinc] = also.filter(({ system }) => system === 'http://loinc.org');
  return loinc === undefined
    ? [key, text, local]
    : [key, text, local, loinc.code, loinc.display ?? text, 'LN'];
}

function statusOf(item: TimelineEntry, obtained: boolean, isFirst: boolean): string {
  if (item.standing.state === 'moved') return 'W';
  if (item.standing.state === 'withdrawn') return 'D';
  if (!obtained) return 'X';
  return isFirst ? 'F' : 'C';
}

/** The number of the first of a chain of corrections, as far as it stands in this patient's record. */
function firstOf(item: TimelineEntry, facts: PatientFacts): string {
  const here = new Map(
    facts.timeline.filter(({ standing }) => standing.state !== 'moved').map(({ entry }) => [entry.id, entry]),
  );
  let at: Entry = item.entry;
  for (let depth = 0; at.corrects !== undefined && depth < 32; depth += 1) {
    const before = here.get(at.corrects);
    if (before === undefined) return at.id;
    at = before;
  }
  return at.id;
}

/** @returns nothing for kinds that are not sent, and for an entry in whose place another stands: that one is sent */
export function resultMessage(input: ResultInput): Message | undefined {
  const { item, facts, directory, zone, atMs, controlId, receiver, codes = codeTable } = input;
  const { entry } = item;
  const result = resultOf(entry);
  if (result === undefined || item.standing.state === 'corrected') return undefined;
  const at = writeTime(instantMs(entry.effectiveAt), zone);
  const person = (id: string): Written => {
    const [given = '', ...family] = (directory.people.find((one) => one.id === id)?.name ?? '').split(' ');
    return [id, family.join(' '), given];
  };
  const { identity } = facts;
  const filler = firstOf(item, facts);
  const isFirst = filler === entry.id;
  const segments: Segment[] = [
    headerFrom({
      3: 'EBBLINE',
      4: directory.organisation,
      5: receiver?.application,
      6: receiver?.facility,
      7: writeTime(atMs, zone),
      9: ['ORU', 'R01', 'ORU_R01'],
      10: controlId,
      11: 'P',
      12: '2.5.1',
      18: 'UNICODE UTF-8',
    }),
    segmentFrom('PID', {
      1: 1,
      3: [
        identity?.identifierValue ?? facts.patient,
        '',
        '',
        identity?.identifierSystem ?? localSystem,
        'MR',
      ],
      5: [identity?.familyName, identity?.givenName],
      7: identity?.birthDate?.replaceAll('-', ''),
      8:
        identity === undefined
          ? undefined
          : (({ female: 'F', male: 'M' } as Record<string, string>)[identity.sex] ?? 'U'),
    }),
    segmentFrom('PV1', { 1: 1, 2: 'I', 3: [facts.ward, '', facts.bed] }),
    segmentFrom('OBR', {
      1: 1,
      3: [filler, 'EBBLINE'],
      4: coded(codes, result.service),
      7: at,
      10: person(result.operator ?? entry.author),
      22: writeTime(instantMs(entry.recordedAt), zone),
      25: item.standing.state === 'live' ? (isFirst ? 'F' : 'C') : 'X',
    }),
    ...result.lines.map((line, place) =>
      segmentFrom('OBX', {
        1: place + 1,
        2: line.type,
        3: coded(codes, line.code),
        4: 1,
        5: line.value,
        6: line.unit === undefined ? undefined : [line.unit, line.unit, 'UCUM'],
        11: statusOf(item, line.absent === undefined, isFirst),
        14: at,
        16: person(result.operator ?? entry.author),
        18: result.scanner === undefined ? undefined : [result.scanner, 'EBBLINE'],
      }),
    ),
  ];
  const notes = [
    ...result.lines.map((line) => line.absent),
    ...result.notes,
    entry.timeQuality === 'exact' ? undefined : 'The time is not exact.',
  ].filter((note): note is string => note !== undefined && note !== '');
  segments.push(...notes.map((note, place) => segmentFrom('NTE', { 1: place + 1, 2: 'L', 3: note })));
  return { delimiters: usualDelimiters, segments };
}
