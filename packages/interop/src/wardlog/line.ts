/**
 * The typed lines of a ward log, format `wardlog-1`: newline-delimited JSON, one entry a line, and the check of one.
 *
 * Units     whole mL, kg, g, minutes, as the field names say; instants ISO 8601 with offset
 * Domain    the published JSON Schema of the format; a field that it does not list is refused
 * Errors    a typed refusal with line number, what was found, what is allowed, what to do
 * Source    S-wardlog-1
 */
import { isRefusal, readInstant, refuse, type Refusal } from '@ebbline/core/quantity';

interface CommonFields {
  readonly id: string;
  readonly patient: string;
  /** When it happened, as charted. */
  readonly at: string;
  readonly atMs: number;
  readonly atQuality: 'exact' | 'rounded' | 'unknown';
  /** When it reached the log. */
  readonly recordedAt: string;
  readonly recordedAtMs: number;
  readonly source: 'typed' | 'device';
  readonly replaces?: string;
  readonly reason?: 'typing' | 'wrong-patient' | 'duplicate';
  readonly operator?: string;
  readonly device?: string;
  /** 1-based line in the file. */
  readonly line: number;
}

export type WardSetting = 'after-surgery' | 'catheter-removed' | 'after-birth' | 'stroke' | 'spinal-cord';

export interface WatchLine extends CommonFields {
  readonly kind: 'watch';
  readonly setting: WardSetting;
  readonly ageY: number;
  readonly sex: 'female' | 'male';
  readonly weightKg: number;
  readonly limitMl: number;
  readonly ownCapacityMl?: number;
  readonly cautions: readonly string[];
  readonly catheterInPlace: boolean;
  readonly lastVoidAt?: string;
}
export interface ContextLine extends CommonFields {
  readonly kind: 'context';
  readonly topic: 'regional-block' | 'opioid' | 'dialysis' | 'loop-diuretic';
  readonly state: 'present' | 'worn-off' | 'given' | 'little-or-no-urine';
  readonly route?: string;
  readonly doseMg?: number;
}
export interface IntakeLine extends CommonFields {
  readonly kind: 'intake';
  readonly volumeMl: number;
  readonly route: 'oral' | 'iv';
  readonly overMin?: number;
}
export interface VoidLine extends CommonFields {
  readonly kind: 'void';
  readonly measured: boolean;
  readonly class: 'jug' | 'mixed-stool' | 'toilet' | 'shower' | 'bed' | 'pad';
  readonly volumeMl?: number;
  readonly size?: 'small' | 'medium' | 'large';
  readonly padG?: number;
  readonly sinceAt?: string;
}
export interface ReadingLine extends CommonFields {
  readonly kind: 'reading';
  readonly volumeMl: number;
  readonly bound: 'exact' | 'at-least';
  readonly doubts: readonly string[];
  readonly afterVoid: boolean;
  readonly minutesSinceVoid?: number;
  readonly look: string;
}
export interface DrainedLine extends CommonFields {
  readonly kind: 'drained';
  readonly measured: boolean;
  readonly route: string;
  readonly volumeMl?: number;
}
export interface CatheterLine extends CommonFields {
  readonly kind: 'catheter';
  readonly action: 'inserted' | 'removed' | 'flushed';
  readonly route?: string;
}
export interface BagLine extends CommonFields {
  readonly kind: 'bag';
  readonly volumeMl: number;
  readonly emptied: boolean;
  readonly sinceAt: string;
}
export interface SymptomLine extends CommonFields {
  readonly kind: 'symptom';
  readonly symptom: 'urge-cannot-pass' | 'lower-belly-pain' | 'restless' | 'tried-nothing-passed';
  readonly severity?: number;
}
/** Takes an earlier line back; nothing takes its place. */
export interface WithdrawnLine extends CommonFields {
  readonly kind: 'withdrawn';
  readonly withdrawnKind: string;
  readonly replaces: string;
}

export type WardLine =
  | WatchLine
  | ContextLine
  | IntakeLine
  | VoidLine
  | ReadingLine
  | DrainedLine
  | CatheterLine
  | BagLine
  | SymptomLine
  | WithdrawnLine;

type Check = (value: unknown) => string | undefined;

const shown = (value: unknown): string =>
  value === undefined ? 'nothing' : JSON.stringify(value).slice(0, 60);
const oneOf =
  (...options: readonly string[]): Check =>
  (value) =>
    typeof value === 'string' && options.includes(value) ? undefined : options.join(', ');
const wholeNumber =
  (least: number, most: number, unit: string): Check =>
  (value) =>
    Number.isInteger(value) && (value as number) >= least && (value as number) <= most
      ? undefined
      : `a whole number from ${least} to ${most} ${unit}`;
const above =
  (most: number, unit: string): Check =>
  (value) =>
    typeof value === 'number' && value > 0 && value <= most
      ? undefined
      : `a number above 0 and up to ${most} ${unit}`;
const trueOrFalse: Check = (value) => (typeof value === 'boolean' ? undefined : 'true or false');
const onlyTrue: Check = (value) => (value === true ? undefined : 'true, or the field left out');
const someText: Check = (value) =>
  typeof value === 'string' && value.length > 0 && value.length <= 200
    ? undefined
    : 'text of 1 to 200 characters';
const anInstant: Check = (value) =>
  isRefusal(readInstant(value)) ? 'an instant with offset such as 2026-05-12T11:37:00+02:00' : undefined;
const listOf =
  (...options: readonly string[]): Check =>
  (value) =>
    Array.isArray(value) && value.every((one) => typeof one === 'string' && options.includes(one))
      ? undefined
      : `a list of ${options.join(', ')}`;

const fields: Readonly<Record<string, Check>> = {
  id: someText,
  kind: oneOf('watch', 'context', 'intake', 'void', 'reading', 'drained', 'catheter', 'bag', 'symptom'),
  patient: someText,
  at: anInstant,
  atQuality: oneOf('exact', 'rounded', 'unknown'),
  recordedAt: anInstant,
  source: oneOf('typed', 'device'),
  replaces: someText,
  withdrawn: onlyTrue,
  reason: oneOf('typing', 'wrong-patient', 'duplicate'),
  operator: someText,
  device: someText,
  setting: oneOf('after-surgery', 'catheter-removed', 'after-birth', 'stroke', 'spinal-cord'),
  ageY: wholeNumber(0, 130, 'years'),
  sex: oneOf('female', 'male'),
  weightKg: above(500, 'kg'),
  ownCapacityMl: wholeNumber(0, 5000, 'mL'),
  limitMl: wholeNumber(1, 5000, 'mL'),
  cautions: listOf('ascites', 'large-uterus', 'obesity'),
  catheterInPlace: trueOrFalse,
  lastVoidAt: anInstant,
  topic: oneOf('regional-block', 'opioid', 'dialysis', 'loop-diuretic'),
  state: oneOf('present', 'worn-off', 'given', 'little-or-no-urine'),
  symptom: oneOf('urge-cannot-pass', 'lower-belly-pain', 'restless', 'tried-nothing-passed'),
  severity: wholeNumber(1, 3, ''),
  action: oneOf('inserted', 'removed', 'flushed'),
  volumeMl: wholeNumber(0, 100_000, 'mL'),
  bound: oneOf('exact', 'at-least'),
  doubts: listOf('cut-below', 'second-fluid', 'unsure-aim', 'poor-contact', 'moved'),
  measured: trueOrFalse,
  class: oneOf('jug', 'mixed-stool', 'toilet', 'shower', 'bed', 'pad'),
  size: oneOf('small', 'medium', 'large'),
  padG: wholeNumber(0, 100_000, 'g'),
  afterVoid: trueOrFalse,
  minutesSinceVoid: wholeNumber(0, 100_000, 'min'),
  look: someText,
  emptied: trueOrFalse,
  sinceAt: anInstant,
  route: oneOf('oral', 'iv', 'in-out', 'indwelling', 'urethral'),
  overMin: wholeNumber(1, 100_000, 'min'),
  doseMg: above(100_000, 'mg'),
};

const always = ['id', 'kind', 'patient', 'at', 'atQuality', 'recordedAt', 'source'];
const byKind: Readonly<Record<string, readonly string[]>> = {
  watch: ['setting', 'ageY', 'sex', 'weightKg', 'limitMl', 'cautions', 'catheterInPlace'],
  context: ['topic', 'state'],
  intake: ['volumeMl', 'route'],
  void: ['measured', 'class'],
  reading: ['volumeMl', 'bound', 'doubts', 'afterVoid', 'look'],
  drained: ['measured', 'route'],
  catheter: ['action'],
  bag: ['volumeMl', 'emptied', 'sinceAt'],
  symptom: ['symptom'],
};

/** One line of text as a typed line, or why not. */
export function readWardLine(text: string, line: number): WardLine | Refusal {
  const where = `line ${line}`;
  const bad = (code: string, found: string, allowed: string, todo: string): Refusal =>
    refuse(`wardlog/${code}`, { asked: 'Log line', found, allowed, todo, where });
  let value: unknown;
  try {
    value = JSON.parse(text);
  } catch {
    return bad(
      'not-json',
      `${text.length} characters that are no JSON`,
      'one JSON object on each line',
      'Mend this line, or leave it out with the setting that keeps what is good.',
    );
  }
  if (typeof value !== 'object' || value === null || Array.isArray(value)) {
    return bad(
      'not-an-object',
      shown(value),
      'one JSON object on each line',
      'Write each entry as an object.',
    );
  }
  const given = value as Record<string, unknown>;
  for (const name of Object.keys(given)) {
    const check = Object.hasOwn(fields, name) ? fields[name] : undefined;
    if (!check)
      return bad(
        'unknown-field',
        `the field "${name.slice(0, 40)}"`,
        Object.keys(fields).join(', '),
        'Use the names of wardlog-1; the unit stands in the name.',
      );
    const allowed = check(given[name]);
    if (allowed !== undefined)
      return bad('bad-value', `${name} = ${shown(given[name])}`, allowed, `Correct ${name}.`);
  }
  const kind = String(given['kind']);
  const withdrawn = given['withdrawn'] === true;
  const needed = [
    ...always,
    ...(withdrawn ? ['replaces', 'reason'] : []),
    ...(withdrawn && ['void', 'reading', 'drained', 'bag'].includes(kind) ? [] : (byKind[kind] ?? [])),
    ...(!withdrawn && (kind === 'void' || kind === 'drained') && given['measured'] === true
      ? ['volumeMl']
      : []),
  ];
  const missing = needed.find((name) => given[name] === undefined);
  if (missing !== undefined)
    return bad(
      'missing-field',
      `no ${missing}`,
      `${missing}: ${fields[missing]?.(undefined) ?? 'a value'}`,
      `Give ${missing}.`,
    );
  if (withdrawn && given['volumeMl'] !== undefined)
    return bad(
      'withdrawn-with-volume',
      'a withdrawal with a volume',
      'a withdrawal without one',
      'Leave volumeMl out.',
    );
  const atMs = readInstant(given['at']) as number;
  const recordedAtMs = readInstant(given['recordedAt']) as number;
  const { withdrawn: _, ...rest } = given;
  if (withdrawn)
    return {
      ...rest,
      kind: 'withdrawn',
      withdrawnKind: kind,
      atMs,
      recordedAtMs,
      line,
    } as unknown as WithdrawnLine;
  return { ...rest, atMs, recordedAtMs, line } as unknown as WardLine;
}
