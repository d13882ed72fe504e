// Proves     the front door carries neither the DMN reader nor the expression engine unless a file is read: nothing
//            that it imports at once imports them at once. Tolerance none.
import { readFileSync } from 'node:fs';
import { describe, expect, it } from 'vitest';

/** Every file of this folder that the front door imports at once, and every package that these import at once. */
function importedAtOnce(): { readonly files: ReadonlySet<string>; readonly packages: ReadonlySet<string> } {
  const files = new Set<string>(['index.ts']);
  const packages = new Set<string>();
  for (const name of files) {
    const text = readFileSync(new URL(name, import.meta.url), 'utf8');
    const base = new URL(name, import.meta.url);
    for (const [, kind, from] of text.matchAll(/^(?:import|export)\s+(type\s)?[^;]*?from '([^']+)';/gms)) {
      if (kind !== undefined || from === undefined) continue;
      if (from.startsWith('.'))
        files.add(new URL(from, base).href.slice(new URL('.', import.meta.url).href.length));
      else packages.add(from);
    }
  }
  return { files, packages };
}

describe('front door', () => {
  it('loads the reader and the engine only on demand', () => {
    const { files, packages } = importedAtOnce();
    expect([...files]).toContain('starter/compiled.ts');
    expect([...files]).toContain('load-feel.ts');
    expect([...packages].filter((name) => !name.startsWith('@ebbline/core/'))).toEqual([]);
  });
});
