/** One condition of a decision table in words: what the facts must say for its row. */
import type { CompiledTest } from '../compile-table.ts';

export const plain = (value: string | number | boolean | null): string =>
  value === null
    ? 'not known'
    : value === true
      ? 'yes'
      : value === false
        ? 'no'
        : String(value).replaceAll('-', ' ');

const range = (one: { from?: number; fromIn?: true; to?: number; toIn?: true }): string => {
  if (one.from === undefined) return `${one.toIn ? 'at most' : 'under'} ${one.to}`;
  if (one.to === undefined) return `${one.fromIn ? 'at least' : 'above'} ${one.from}`;
  return `${one.fromIn ? 'from' : 'above'} ${one.from} ${one.toIn ? 'to' : 'to under'} ${one.to}`;
};

/** Empty when anything fits. */
export function testWords(test: CompiledTest): string {
  if (test === 0) return '';
  if ('not' in test) return `not ${test.not.map(plain).join(', ')}`;
  return [...(test.in ?? []).map(plain), ...(test.ranges ?? []).map(range)].join(', or ');
}

const units: Readonly<Record<string, string>> = { Ml: 'mL', Min: 'min', Percent: '%' };

/** `sinceVoidMin` → `since void, min`. */
export function inputWords(name: string): string {
  const unit = /(Ml|Min|Percent)$/.exec(name)?.[1];
  const base = unit === undefined ? name : name.slice(0, -unit.length);
  const words = base
    .replaceAll(/([A-Z])/g, (letter) => ` ${letter.toLowerCase()}`)
    .trim()
    .toLowerCase();
  return unit === undefined ? words : `${words}, ${units[unit] ?? ''}`;
}
