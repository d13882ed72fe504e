// The fonts of printed pages: IBM Plex Sans (SIL Open Font Licence 1.1), cut by script. A word may need several; which
// one holds a character is asked of the font itself.
import { readFileSync } from 'node:fs';
import { createRequire } from 'node:module';
import { orThrow } from '@ebbline/core/quantity';
import { fontOfWoff } from './woff.ts';

export const weights = ['regular', 'bold', 'italic'] as const;
export type Weight = (typeof weights)[number];
const files: Readonly<Record<Weight, string>> = {
  regular: '400-normal',
  bold: '600-normal',
  italic: '400-italic',
};
export const scripts = ['latin', 'latin-ext', 'greek', 'cyrillic'] as const;
export type Script = (typeof scripts)[number];

const read = new Map<string, Uint8Array>();

export function fontBytes(script: Script, weight: Weight): Uint8Array {
  const name = `ibm-plex-sans-${script}-${files[weight]}.woff`;
  let bytes = read.get(name);
  if (!bytes) {
    bytes = orThrow(
      fontOfWoff(
        readFileSync(createRequire(import.meta.url).resolve(`@fontsource/ibm-plex-sans/files/${name}`)),
      ),
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
