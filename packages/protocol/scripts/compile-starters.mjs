// Writes src/starter/compiled.ts from the starter protocols in src/starter/*.dmn. Run it after changing one:
//   node packages/protocol/scripts/compile-starters.mjs
// A test compares the file with what this makes.
import { readFile, readdir, writeFile } from 'node:fs/promises';
import { fileURLToPath } from 'node:url';
import { orThrow } from '@ebbline/core/quantity';
import { compileProtocol } from '../src/compile-protocol.ts';
import { readDmn } from '../src/read-dmn.ts';

const folder = new URL('../src/starter/', import.meta.url);

/** The text of compiled.ts for the files as they are now. */
export async function compiledText() {
  const names = (await readdir(folder)).filter((name) => name.endsWith('.dmn')).sort();
  const protocols = [];
  for (const name of names) {
    const model = orThrow(await readDmn(await readFile(new URL(name, folder), 'utf8')));
    protocols.push(orThrow(compileProtocol(model)));
  }
  const lines = [
    '// Made by scripts/compile-starters.mjs from the .dmn files beside it; change those, not this.',
    "import type { CompiledProtocol } from '../compile-protocol.ts';",
    '',
    '// oxfmt-ignore',
    `export const starterProtocols: readonly CompiledProtocol[] = ${JSON.stringify(protocols)};`,
    '',
  ];
  return lines.join('\n');
}

if (process.argv[1] === fileURLToPath(import.meta.url))
  await writeFile(new URL('compiled.ts', folder), await compiledText());
