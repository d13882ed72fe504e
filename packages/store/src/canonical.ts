/**
 * One text for one content: JSON with the keys of every object in order, nothing undefined. Two entries are the
 * same exactly when their canonical texts are.
 *
 * Domain    plain data that JSON can carry
 */
export function canonicalText(value: unknown): string {
  if (value === null || typeof value !== 'object') return JSON.stringify(value) ?? 'null';
  if (Array.isArray(value)) return `[${value.map((item) => canonicalText(item)).join(',')}]`;
  const given = value as Record<string, unknown>;
  const parts: string[] = [];
  for (const name of Object.keys(given).sort()) {
    if (given[name] !== undefined) parts.push(`${JSON.stringify(name)}:${canonicalText(given[name])}`);
  }
  return `{${parts.join(',')}}`;
}
