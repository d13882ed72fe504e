// The fonts of printed pages: IBM Plex Sans (SIL Open Font Licence 1.1), cut by script. A word may need several; which
// one holds a character is asked of the font itself.
import { readFileSync } from 'node:fs';
import { createRequire } from 'node:module';
import { orThrow } from '@ebbline/core/quantity';
import { fontOfWoff } from './woff.ts';

export const weights = ['regular', 'bold', 'italic', 'narrow', 'narrow-bold'] as const;
export type Weight = (typeof weights)[number];
const files: Readonly<Record<Weight, string>> = {
  regular: '400-normal',
  bold: '600-normal',
  italic: '400-italic',
  narrow: '400-normal',
  'narrow-bold': '600-normal',
};
export const scripts = ['latin', 'latin-ext', 'greek', 'cyrillic'] as const;
export type Script = (typeof scripts)[number];
/** Scripts that the narrow family has; the others stand in the wide one beside it. */
const narrowScripts: ReadonlySet<Script> = new Set(['latin', 'latin-ext']);

const read = new Map<string, Uint8Array>();

export function fontBytes(script: Script, weight: Weight): Uint8Array {
  const narrow = weight.startsWith('narrow') && narrowScripts.has(script);
  const family = narrow ? 'ibm-plex-sans-condensed' : 'ibm-plex-sans';
  const name = `${family}-${script}-${files[weight]}.woff`;
  let bytes = read.get(name);
  if (!bytes) {
    bytes = orThrow(
      fontOfWoff(readFileSync(createRequire(import.meta.url).resolve(`@fontsource/${family}/files/${name}`))),
    );
    read.set(name, bytes);
  }
  return bytes;
}

/** Signs that the fonts lack, in words; a sheet never shows an empty box for one of them. */
const spelled: readonly (readonly [RegExp, string])[] = [
  [/≥\s*/g, 'at least '],
  [/≤\s*/g, 'at most '],
  [/→/g, 'to'],
  [/≈\s*/g, 'about '],
];

export function spellOut(text: string): string {
  return spelled.reduce((done, [sign, words]) => done.replaceAll(sign, words), text);
}
