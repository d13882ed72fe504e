// Proves     the due list has every open item once in the order of the clock, says its age beforehand, and leaves lines to write on;
//            the paper form asks what the screen asks, in its words and order, on A4 and on Letter, in one colour, and is tagged
// Published  none
import { describe, expect, it } from 'vitest';
import { instantMs } from '@ebbline/core/quantity';
import { defaultSettings } from '@ebbline/core/record';
import { foldWard } from '@ebbline/core/facts';
import {
  askedAfter,
  clockOrDay,
  fieldsInOrder,
  formWords,
  keysOf,
  paperBlocks,
  paperForms,
} from '@ebbline/core/present';
import { coastZone, demoWorld, liveWard } from '@ebbline/simulate';
import { dueListPdf, entryFormPdf, wardPdf } from './index.ts';
import { readPdf, squeeze } from './testing/read-pdf.ts';

const zone = coastZone;
const nowMs = instantMs('2026-05-14T19:30:00+02:00');
const world = demoWorld({ seed: 20_260_514, nowMs });
const { directory } = world;
const ward = foldWard({
  ward: liveWard,
  entries: world.entries,
  nowMs,
  settings: directory.wards.find((one) => one.id === liveWard)?.settings ?? defaultSettings,
  zone,
});
const input = { ward, directory, zone, printedAtMs: nowMs };

describe('sheets for the hours without the tool', () => {
  it('say how old they are at which time, and until when they count', async () => {
    for (const made of [wardPdf(input), dueListPdf(input)]) {
      const pdf = readPdf(await made);
      const [first] = pdf.pages;
      expect(first?.squeezed).toContain(squeeze('As of 19:30'));
      expect(first?.squeezed).toContain(
        squeeze('Valid as of Thu 14 May 2026 19:30. This sheet is 1 h old at 20:30, 2 h old at 21:30'),
      );
      expect(first?.squeezed).toContain(squeeze('Void after Thu 14 May 2026 20:30'));
    }
  });

  it('list everything that is due once, by the clock, with empty lines below', async () => {
    const pdf = readPdf(await dueListPdf(input));
    const text = pdf.pages.map((one) => one.squeezed).join('');
    const items = ward.patients.flatMap((facts) => facts.due.map((item) => ({ facts, item })));
    expect(items.length).toBeGreaterThan(10);
    let from = 0;
    for (const { facts, item } of items.toSorted((a, b) => a.item.dueAtMs - b.item.dueAtMs)) {
      const wanted = squeeze(
        `${clockOrDay(item.dueAtMs, nowMs, zone)}${item.overdue ? ' overdue' : ''}${facts.bed}`,
      );
      expect(text, wanted).toContain(wanted);
      const at = text.indexOf(squeeze(clockOrDay(item.dueAtMs, nowMs, zone)), from);
      expect(at, wanted).toBeGreaterThanOrEqual(from);
      from = at;
    }
    expect(pdf.tags.filter((tag) => tag === 'TR').length).toBeGreaterThanOrEqual(items.length + 8);
  });
});

describe('the form on paper', () => {
  const printed = async (size: 'A4' | 'LETTER') =>
    readPdf(
      await entryFormPdf({ ward: 'Harbour 3', scanners: ['Scanner A'], zone, printedAtMs: nowMs, size }),
    );

  it('asks every field of the screen in its order and its words, on A4 and on Letter', async () => {
    for (const size of ['A4', 'LETTER'] as const) {
      const pdf = await printed(size);
      const text = pdf.pages.map((one) => one.squeezed).join('');
      let from = 0;
      const next = (words: string): void => {
        const at = text.indexOf(squeeze(words), from);
        expect(at, `${size}: ${words}`).toBeGreaterThanOrEqual(from);
        from = at + squeeze(words).length;
      };
      for (const [id, blocks] of paperBlocks)
        for (let done = 0; done < blocks; done += 1) {
          const spec = paperForms.find((one) => one.id === id);
          if (!spec) throw new Error(`no form ${id}`);
          next(spec.title);
          next(formWords.aboutThatTime);
          for (const field of fieldsInOrder(spec)) {
            const after = askedAfter(spec, field);
            if (after !== undefined) next(`If "${after}"`);
            next(field.label);
            for (const key of keysOf(field)) next(key);
            if (field.type === 'number') next(field.unit);
          }
          if (id === 'reading') next('Scanner A');
        }
      expect(pdf.pages).toHaveLength(2);
      for (const page of pdf.pages) {
        expect(page.squeezed).toContain(squeeze('Number on the wristband'));
        // Nothing stands in the margin, nor under the foot.
        expect(page.lowestPt).toBeGreaterThanOrEqual(12 * (72 / 25.4));
        expect(page.smallestPt).toBeGreaterThanOrEqual(7.5);
      }
    }
  });

  it('is tagged, says its language, and needs one colour', async () => {
    const pdf = await printed('A4');
    expect([pdf.marked, pdf.lang]).toEqual([true, 'en-GB']);
    for (const tag of ['Document', 'Sect', 'H2', 'P']) expect(pdf.tags).toContain(tag);
    for (const colour of pdf.colours) {
      const [red, green, blue] = colour.split(' ');
      expect([green, blue], colour).toEqual([red, red]);
    }
  });
});
