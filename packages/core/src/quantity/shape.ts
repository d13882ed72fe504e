/**
 * Shapes: one description of a payload that gives its TypeScript type, its check with a helpful refusal, and
 * its JSON Schema (for OpenAPI). Core uses no npm package, so this small vocabulary stands here.
 */
import { isEntryId } from './identifier.ts';
import { readInstant, type Instant } from './instant.ts';
import { isRefusal, refuse, type Refusal } from './refusal.ts';

export interface Shape<Value> {
  readonly check: (value: unknown, where: string) => Value | Refusal;
  readonly jsonSchema: Readonly<Record<string, unknown>>;
  readonly optional?: true;
  /** Only in the type: what a checked value is. */
  readonly value?: Value;
}

export type ValueOf<S> = S extends Shape<infer Value> ? Value : never;

const shown = (value: unknown): string => {
  if (value === undefined) return 'nothing';
  if (value === null) return 'null';
  if (typeof value === 'number' || typeof value === 'boolean') return String(value);
  if (typeof value === 'string') return `"${value.slice(0, 40)}"`;
  return Array.isArray(value) ? 'a list' : 'an object';
};

interface NumberRange {
  readonly min: number;
  readonly max: number;
  /** Unit as a person reads it: `mL`, `g`, `min`. */
  readonly unit: string;
  /** What to do when it is out of range. */
  readonly todo?: string;
}

const numeric = (range: NumberRange, whole: boolean): Shape<number> => ({
  jsonSchema: {
    type: whole ? 'integer' : 'number',
    minimum: range.min,
    maximum: range.max,
    description: `in ${range.unit}`,
  },
  check: (value, where) => {
    const allowed =
      `${whole ? 'a whole number' : 'a number'} from ${range.min} to ${range.max} ${range.unit}`.trim();
    const todo = range.todo ?? 'Check the number and the unit, and enter it again.';
    if (typeof value !== 'number' || !Number.isFinite(value)) {
      return refuse('record/not-a-number', { asked: 'Number', found: shown(value), allowed, todo, where });
    }
    if (whole && !Number.isInteger(value)) {
      return refuse('record/not-whole', {
        asked: 'Number',
        found: `${value} ${range.unit}`,
        allowed,
        todo,
        where,
      });
    }
    if (value < range.min || value > range.max) {
      return refuse('record/out-of-range', {
        asked: 'Number',
        found: `${value} ${range.unit}`,
        allowed,
        todo,
        where,
      });
    }
    return value;
  },
});

/** Whole number within a range, in a named unit. */
export const whole = (range: NumberRange): Shape<number> => numeric(range, true);
/** Number within a range, in a named unit. */
export const decimal = (range: NumberRange): Shape<number> => numeric(range, false);

/** A control character other than tab and line feed. */
function hasControlCharacter(value: string): boolean {
  for (let index = 0; index < value.length; index += 1) {
    const code = value.charCodeAt(index);
    if (code < 0x20 && code !== 0x09 && code !== 0x0a) return true;
  }
  return false;
}

/** Text of 1 to `max` characters, no control characters but tab and line feed. */
export const text = (max = 400): Shape<string> => ({
  jsonSchema: { type: 'string', minLength: 1, maxLength: max },
  check: (value, where) => {
    if (typeof value === 'string' && value.length >= 1 && value.length <= max && !hasControlCharacter(value))
      return value;
    return refuse('record/not-text', {
      asked: 'Text',
      found: typeof value === 'string' ? `${value.length} characters` : shown(value),
      allowed: `1 to ${max} plain characters`,
      todo: 'Shorten it or write it again.',
      where,
    });
  },
});

/** One of a fixed list of words. */
export const choice = <const Options extends readonly string[]>(
  options: Options,
): Shape<Options[number]> => ({
  jsonSchema: { type: 'string', enum: options },
  check: (value, where) =>
    typeof value === 'string' && options.includes(value)
      ? value
      : refuse('record/not-a-choice', {
          asked: 'Choice',
          found: shown(value),
          allowed: options.join(', '),
          todo: 'Choose one of these.',
          where,
        }),
});

/** True or false. */
export const flag = (): Shape<boolean> => ({
  jsonSchema: { type: 'boolean' },
  check: (value, where) =>
    typeof value === 'boolean'
      ? value
      : refuse('record/not-yes-or-no', {
          asked: 'Answer',
          found: shown(value),
          allowed: 'true or false',
          todo: 'Answer yes or no.',
          where,
        }),
});

/** ISO instant with offset. */
export const instant = (): Shape<Instant> => ({
  jsonSchema: { type: 'string', format: 'date-time' },
  check: (value, where) => {
    const milliseconds = readInstant(value);
    return isRefusal(milliseconds) ? { ...milliseconds, where } : (value as Instant);
  },
});

/** Identifier of an entry (UUID version 7 or 8). */
export const entryId = (): Shape<string> => ({
  jsonSchema: { type: 'string', format: 'uuid' },
  check: (value, where) =>
    isEntryId(value)
      ? value
      : refuse('record/not-an-id', {
          asked: 'Identifier',
          found: shown(value),
          allowed: 'a UUID of version 7 or 8 in lower case',
          todo: 'Send the id that the entry was made with.',
          where,
        }),
});

/** List of at most `max` items. */
export const list = <Item>(item: Shape<Item>, max = 50): Shape<readonly Item[]> => ({
  jsonSchema: { type: 'array', items: item.jsonSchema, maxItems: max },
  check: (value, where) => {
    if (!Array.isArray(value) || value.length > max) {
      return refuse('record/not-a-list', {
        asked: 'List',
        found: Array.isArray(value) ? `${value.length} items` : shown(value),
        allowed: `a list of at most ${max}`,
        todo: 'Send a shorter list.',
        where,
      });
    }
    const kept: Item[] = [];
    for (const [index, one] of value.entries()) {
      const checked = item.check(one, `${where}[${index}]`);
      if (isRefusal(checked)) return checked;
      kept.push(checked);
    }
    return kept;
  },
});

/** A field that may be missing. Missing means not charted; null is refused. */
export const maybe = <Value>(inner: Shape<Value>): Shape<Value> & { readonly optional: true } => ({
  ...inner,
  optional: true,
});

type Fields = Readonly<Record<string, Shape<unknown>>>;
type RequiredKeys<F extends Fields> = {
  [K in keyof F]: F[K] extends { readonly optional: true } ? never : K;
}[keyof F];
type OptionalKeys<F extends Fields> = Exclude<keyof F, RequiredKeys<F>>;
export type RecordOf<F extends Fields> = { readonly [K in RequiredKeys<F>]: ValueOf<F[K]> } & {
  readonly [K in OptionalKeys<F>]?: ValueOf<F[K]>;
};

/** An object with exactly these fields; a field that is not listed is refused, so that a wrong unit in a name shows. */
export const shape = <const F extends Fields>(fields: F): Shape<RecordOf<F>> => {
  const names = Object.keys(fields);
  return {
    jsonSchema: {
      type: 'object',
      properties: Object.fromEntries(names.map((name) => [name, fields[name]?.jsonSchema])),
      required: names.filter((name) => !fields[name]?.optional),
      additionalProperties: false,
    },
    check: (value, where) => {
      if (typeof value !== 'object' || value === null || Array.isArray(value)) {
        return refuse('record/not-an-object', {
          asked: 'Entry',
          found: shown(value),
          allowed: `an object with ${names.join(', ')}`,
          todo: 'Send the whole entry.',
          where,
        });
      }
      const given = value as Record<string, unknown>;
      for (const name of Object.keys(given)) {
        if (!Object.hasOwn(fields, name)) {
          return refuse('record/unknown-field', {
            asked: 'Field',
            found: `"${name.slice(0, 40)}"`,
            allowed: names.join(', '),
            todo: 'Use one of these names; the unit stands in the name.',
            where,
          });
        }
      }
      const kept: Record<string, unknown> = {};
      for (const name of names) {
        const field = fields[name] as Shape<unknown>;
        if (given[name] === undefined) {
          if (field.optional) continue;
          return refuse('record/missing-field', {
            asked: 'Field',
            found: `no ${name}`,
            allowed: names.filter((one) => !fields[one]?.optional).join(', '),
            todo: `Give ${name}.`,
            where,
          });
        }
        const checked = field.check(given[name], where === '' ? name : `${where}.${name}`);
        if (isRefusal(checked)) return checked;
        kept[name] = checked;
      }
      return kept as RecordOf<F>;
    },
  };
};
