import { dictionary, type CompiledTest, type InputName, type Scalar } from '@ebbline/protocol';

/** A value that a band of the map holds, to be tried: a whole number where there is one; nothing for "not known". */
export function valueIn(name: InputName, test: CompiledTest): Scalar {
  const { kind, options, min = 0, max = 0 } = dictionary[name];
  if (test === 0) return kind === 'number' ? min : kind === 'flag' ? false : (options?.[0] ?? null);
  if ('not' in test) return options?.find((option) => !test.not.includes(option)) ?? null;
  const [first] = test.in ?? [];
  if (first !== undefined) return first;
  const [range] = test.ranges ?? [];
  const { from = min, to = max } = range ?? {};
  if (range?.fromIn) return from;
  const next = Math.floor(from) + 1;
  return next < to || (next === to && range?.toIn) ? next : (from + to) / 2;
}
