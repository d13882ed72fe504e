/** Small things that a tablet remembers for a person: the scanner and the size used last, and the hand they hold it in. */
const keyOf = (person: string, what: string): string => `ebbline.${what}.${person}`;

function read(key: string): Readonly<Record<string, string>> {
  try {
    const value: unknown = JSON.parse(localStorage.getItem(key) ?? '{}');
    if (typeof value !== 'object' || value === null) return {};
    return Object.fromEntries(
      Object.entries(value).filter((pair): pair is [string, string] => typeof pair[1] === 'string'),
    );
  } catch {
    return {};
  }
}

function keep(key: string, value: Readonly<Record<string, string>>): void {
  try {
    localStorage.setItem(key, JSON.stringify(value));
  } catch {
    // Not remembered; nothing else changes.
  }
}

export function rememberedFor(person: string, names: readonly string[]): Readonly<Record<string, string>> {
  const all = read(keyOf(person, 'remembered'));
  return Object.fromEntries(names.flatMap((name) => (all[name] === undefined ? [] : [[name, all[name]]])));
}

export function remember(
  person: string,
  names: readonly string[],
  values: Readonly<Record<string, string>>,
): void {
  const kept = { ...read(keyOf(person, 'remembered')) } as Record<string, string>;
  for (const name of names) if (values[name] !== undefined) kept[name] = values[name];
  keep(keyOf(person, 'remembered'), kept);
}

export const isMirrored = (person: string): boolean => read(keyOf(person, 'hand'))['hand'] === 'left';
export const setMirrored = (person: string, mirrored: boolean): void =>
  keep(keyOf(person, 'hand'), { hand: mirrored ? 'left' : 'right' });
