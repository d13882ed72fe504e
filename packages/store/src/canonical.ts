/**
 * One text for one content: JSON with the keys of every object in order, nothing undefined. Two entries are the
 * same exactly when their canonical texts are.
 *
 * Domain    plain data that JSON can carry
 */
export function canonicalText(value: unknown): string {
  if (value === null || typeof value !== 'object') return JSON.stringify(value) ?? 'null';
  let text = '';
  if (Array.isArray(value)) {
    for (const item of value) text += `${text === '' ? '' : ','}${canonicalText(item)}`;
    return `[${text}]`;
  }
  const given = value as Record<string, unknown>;
  for (const name of Object.keys(given).sort()) {
    const member = given[name];
    if (member !== undefined) text += `${text === '' ? '' : ','}${quoted(name)}${canonicalText(member)}`;
  }
  return `{${text}}`;
}

/** Names recur with every entry: quoted once each, up to a bound. */
const names = new Map<string, string>();
const mostNames = 1_000;

function quoted(name: string): string {
  const known = names.get(name);
  if (known !== undefined) return known;
  const text = `${JSON.stringify(name)}:`;
  if (names.size < mostNames) names.set(name, text);
  return text;
}
