// Test-only: reads back a PDF that our writer made. Text comes through each font's ToUnicode map, as it does for a
// person who copies it or listens to it. Not a general PDF reader.
import { inflateSync } from 'node:zlib';

export interface ReadPdfPage {
  /** Every piece of text in drawing order, one piece a line. */
  readonly pieces: readonly string[];
  /** All text with no white space at all, so that line ends and changes of font do not matter. */
  readonly squeezed: string;
  /** Where the lowest text stands above the page's lower edge, points. */
  readonly lowestPt: number;
  readonly highestPt: number;
  /** Size of the smallest text. */
  readonly smallestPt: number;
}

export interface ReadPdf {
  readonly pages: readonly ReadPdfPage[];
  readonly tags: readonly string[];
  readonly marked: boolean;
  readonly lang: string | undefined;
  readonly fonts: readonly string[];
  readonly colours: ReadonlySet<string>;
}

export const squeeze = (text: string): string => text.replaceAll(/\s+/g, '');

export function readPdf(bytes: Uint8Array): ReadPdf {
  const file = Buffer.from(bytes).toString('latin1');
  const objects = new Map<number, string>();
  for (const match of file.matchAll(/(?:^|\n)(\d+) 0 obj\n([\s\S]*?)\nendobj/g))
    objects.set(Number(match[1]), match[2] as string);
  const object = (ref: string | undefined): string =>
    objects.get(Number(/^(\d+)/.exec(ref?.trim() ?? '')?.[1] ?? -1)) ?? '';
  const stream = (source: string): string => {
    const at = source.indexOf('stream\n');
    if (at < 0) return '';
    const body = Buffer.from(source.slice(at + 7, source.lastIndexOf('\nendstream')), 'latin1');
    return source.includes('/FlateDecode') ? inflateSync(body).toString('latin1') : body.toString('latin1');
  };
  const maps = new Map<string, ReadonlyMap<number, string>>();
  const mapOf = (fontRef: string): ReadonlyMap<number, string> => {
    const before = maps.get(fontRef);
    if (before) return before;
    const cmap = stream(object(/\/ToUnicode (\d+ 0 R)/.exec(object(fontRef))?.[1]));
    const map = new Map<number, string>();
    const chars = (hex: string): string =>
      (hex.match(/.{4}/g) ?? []).map((one) => String.fromCharCode(Number.parseInt(one, 16))).join('');
    for (const [, from, , list] of cmap.matchAll(/<([0-9a-f]{4})> <([0-9a-f]{4})> \[([^\]]*)\]/gi)) {
      for (const [index, one] of [...(list as string).matchAll(/<([0-9a-f ]*)>/gi)].entries())
        map.set(Number.parseInt(from as string, 16) + index, chars((one[1] as string).replaceAll(' ', '')));
    }
    maps.set(fontRef, map);
    return map;
  };

  const catalog = [...objects.values()].find((one) => one.includes('/Type /Catalog')) ?? '';
  const kids = /\/Kids \[([^\]]*)\]/.exec(object(/\/Pages (\d+ 0 R)/.exec(catalog)?.[1]))?.[1] ?? '';
  const colours = new Set<string>();
  const pages = [...kids.matchAll(/(\d+) 0 R/g)].map(([ref]): ReadPdfPage => {
    const page = object(ref);
    const resourcesRef = /\/Resources (\d+ 0 R)/.exec(page)?.[1];
    const resources = resourcesRef === undefined ? page : object(resourcesRef);
    const fonts = new Map(
      [...(/\/Font <<([\s\S]*?)>>/.exec(resources)?.[1] ?? '').matchAll(/\/(F\d+) (\d+ 0 R)/g)].map((one) => [
        one[1] as string,
        one[2] as string,
      ]),
    );
    const content = stream(object(/\/Contents (\d+ 0 R)/.exec(page)?.[1]));
    for (const [colour] of content.matchAll(/[\d.]+ [\d.]+ [\d.]+ (?:scn|SCN|rg|RG)\b/g)) colours.add(colour);
    const pieces: string[] = [];
    let font = '';
    for (const match of content.matchAll(/\/(F\d+) [\d.]+ Tf|\[([^\]]*)\] TJ/g)) {
      if (match[1] !== undefined) font = match[1];
      else {
        const map = mapOf(fonts.get(font) ?? '');
        const hex = [...(match[2] as string).matchAll(/<([0-9a-f]*)>/gi)].map((one) => one[1]).join('');
        pieces.push(
          (hex.match(/.{4}/g) ?? []).map((one) => map.get(Number.parseInt(one, 16)) ?? '\uFFFD').join(''),
        );
      }
    }
    const heights = [...content.matchAll(/1 0 0 1 [\d.-]+ ([\d.-]+) Tm/g)].map((one) => Number(one[1]));
    return {
      pieces,
      squeezed: squeeze(pieces.join('')),
      lowestPt: Math.min(...heights),
      highestPt: Math.max(...heights),
      smallestPt: Math.min(...[...content.matchAll(/\/F\d+ ([\d.]+) Tf/g)].map((one) => Number(one[1]))),
    };
  });
  return {
    pages,
    tags: [...objects.values()]
      .flatMap((one) =>
        one.includes('/Type /StructElem') || /\/S \/\w+/.test(one)
          ? [/\/S \/(\w+)/.exec(one)?.[1] ?? '']
          : [],
      )
      .filter((one) => one !== ''),
    marked:
      /\/MarkInfo[\s\S]*?\/Marked true/.test(catalog) ||
      [...objects.values()].some((one) => one.includes('/Marked true')),
    lang: /\/Lang \(([^)]*)\)/.exec(file)?.[1],
    fonts: [...new Set([...file.matchAll(/\/BaseFont \/(\S+)/g)].map((one) => one[1] as string))],
    colours,
  };
}
