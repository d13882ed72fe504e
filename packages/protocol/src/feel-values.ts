import { isRefusal, refuse, type Refusal } from '@ebbline/core/quantity';
import type { DmnModel, DmnType, Feel } from './model.ts';

const shown = (value: unknown): string => {
  if (value === null || value === undefined) return 'nothing';
  if (typeof value === 'string') return `the text "${value.slice(0, 40)}"`;
  if (typeof value === 'number' || typeof value === 'boolean') return String(value);
  return Array.isArray(value) ? 'a list' : 'an object';
};

const temporal: Readonly<Record<string, string>> = {
  date: 'date',
  time: 'time',
  dateTime: 'date and time',
  'date and time': 'date and time',
  dateAndTime: 'date and time',
  duration: 'duration',
  dayTimeDuration: 'duration',
  'days and time duration': 'duration',
  yearMonthDuration: 'duration',
  'years and months duration': 'duration',
};

const example: Readonly<Record<string, string>> = {
  date: 'such as "2026-05-14"',
  time: 'such as "18:30:00"',
  'date and time': 'such as "2026-05-14T18:30:00"',
  duration: 'such as "PT90M"',
};

/**
 * A given value as the type of its input asks: numbers, texts, yes or no, lists, structures; dates, times and
 * durations from their ISO text. A missing value stays missing (FEEL null). Nothing is converted by guess: the
 * text "240" is no number.
 */
export function valueOfType(
  value: unknown,
  typeRef: string | undefined,
  model: DmnModel,
  where: string,
): unknown {
  if (value === undefined || value === null) return null;
  if (typeRef === undefined || typeRef === 'Any') return value;
  const bad = (allowed: string): Refusal =>
    refuse('protocol/input-type', {
      asked: 'Input',
      found: shown(value),
      allowed,
      todo: 'Give the value in the type and unit that its name says.',
      where,
    });
  if (typeRef === 'number')
    return typeof value === 'number' && Number.isFinite(value) ? value : bad('a number');
  if (typeRef === 'string') return typeof value === 'string' ? value : bad('a text');
  if (typeRef === 'boolean') return typeof value === 'boolean' ? value : bad('true or false');
  const kind = temporal[typeRef];
  if (kind !== undefined) {
    if (typeof value !== 'string' || /["\\]/.test(value)) return bad(`a ${kind} as text, ${example[kind]}`);
    const made = model.feel.evaluate(`${kind}("${value}")`, {});
    return made === null || made === undefined ? bad(`a ${kind} as text, ${example[kind]}`) : made;
  }
  const type = model.types.find((one) => one.name === typeRef);
  if (!type) return value;
  return valueOfDefinition(value, type, model, where);
}

function valueOfDefinition(value: unknown, type: DmnType, model: DmnModel, where: string): unknown {
  if (type.isCollection) {
    if (!Array.isArray(value)) {
      return refuse('protocol/input-type', {
        asked: 'Input',
        found: shown(value),
        allowed: 'a list',
        todo: 'Give a list.',
        where,
      });
    }
    const kept: unknown[] = [];
    for (const [index, item] of value.entries()) {
      const read = valueOfDefinition(item, { ...type, isCollection: false }, model, `${where}[${index}]`);
      if (isRefusal(read)) return read;
      kept.push(read);
    }
    return kept;
  }
  if (type.components.length > 0) {
    if (value === null) return null;
    if (typeof value !== 'object' || Array.isArray(value)) {
      return refuse('protocol/input-type', {
        asked: 'Input',
        found: shown(value),
        allowed: `an object with ${type.components.map((one) => one.name).join(', ')}`,
        todo: 'Give all its parts by name.',
        where,
      });
    }
    const given = value as Record<string, unknown>;
    const kept: Record<string, unknown> = { ...given };
    for (const part of type.components) {
      if (given[part.name] === undefined) continue;
      const read = valueOfDefinition(given[part.name], part, model, `${where}.${part.name}`);
      if (isRefusal(read)) return read;
      kept[part.name] = read;
    }
    return kept;
  }
  const read = valueOfType(value, type.typeRef, model, where);
  if (isRefusal(read) || read === null || type.allowed === undefined) return read;
  return meets(model.feel, type.allowed, read)
    ? read
    : refuse('protocol/input-not-allowed', {
        asked: 'Input',
        found: shown(value),
        allowed: type.allowed,
        todo: 'Give one of the allowed values.',
        where,
      });
}

/** True when a value meets unary tests; a test that does not read counts as not met. */
export function meets(feel: Feel, tests: string, value: unknown): boolean {
  try {
    return feel.unaryTest(tests, value, {});
  } catch {
    return false;
  }
}

/** What we use of the engine's date, time and duration values. */
interface Temporal {
  readonly toISO: (options?: object) => unknown;
  readonly toISODate?: () => unknown;
  readonly toISOTime?: (options: object) => unknown;
  readonly zone?: { readonly type?: string };
}

/**
 * A result of the expression engine as plain JSON: dates, times and durations as ISO text. A date has no time and a
 * time no date when the type of the decision says so; an offset is written only when the value has one.
 */
export function plainValue(value: unknown, typeRef?: string): unknown {
  if (value === undefined || value === null) return null;
  if (typeof value !== 'object') return typeof value === 'number' && !Number.isFinite(value) ? null : value;
  if (Array.isArray(value)) return value.map((one) => plainValue(one));
  const temporalValue = value as Partial<Temporal>;
  if (typeof temporalValue.toISO === 'function')
    return isoText(temporalValue as Temporal, typeRef === undefined ? undefined : temporal[typeRef]);
  return Object.fromEntries(Object.entries(value).map(([key, one]) => [key, plainValue(one)]));
}

function isoText(value: Temporal, kind: string | undefined): unknown {
  const options = { suppressMilliseconds: true, includeOffset: value.zone?.type !== 'system' };
  if (kind === 'date') return value.toISODate?.() ?? value.toISO();
  if (kind === 'time') return value.toISOTime?.(options) ?? value.toISO();
  return value.toISODate ? value.toISO(options) : value.toISO();
}
