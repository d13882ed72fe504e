// Proves     a protocol's flow sheet stands on one page for every starter, holds every row, has no text below 8 points, and says
//            on each page that it is an example until somebody has signed it; its tables hold every row and every answer.
// Tolerance  none; the limits of the sheet are S-print-flow-sheet
import { describe, expect, it } from 'vitest';
import { instantMs } from '@ebbline/core/quantity';
import { standingCaution } from '@ebbline/core/present';
import { flowSheet, sheetTables, starterProtocols, type CompiledProtocol } from '@ebbline/protocol';
import { flowSheetPdf, protocolTablesPdf, type ProtocolApproval } from './index.ts';
import { readPdf, squeeze, type ReadPdf } from './testing/read-pdf.ts';

const printedAtMs = instantMs('2026-11-28T07:00:00Z');
const zone = 'Europe/Oslo';
const starters = starterProtocols.map((one) => [one.id, one] as const);
const surgery = starterProtocols.find((one) => one.id === 'after-surgery') as CompiledProtocol;
const all = (pdf: ReadPdf): string => pdf.pages.map((one) => one.squeezed).join('');
const sheetOf = async (protocol: CompiledProtocol, approval?: ProtocolApproval): Promise<ReadPdf> =>
  readPdf(await flowSheetPdf({ protocol, zone, printedAtMs, ...(approval ? { approval } : {}) }));
const signed = (reviewBy: string): ProtocolApproval => ({
  signedBy: 'Ulla Perrin',
  role: 'manager',
  on: '2026-10-05T09:00:00Z',
  reviewBy,
});
const mark = squeeze('Example, not approved');

describe('the flow sheet', () => {
  it.each(starters)(
    'of %s stands on one page, every row with its step, due time, owner and sources',
    async (_id, protocol) => {
      const pdf = await sheetOf(protocol);
      expect(pdf.pages).toHaveLength(1);
      const text = all(pdf);
      const sheet = flowSheet(protocol);
      const lines = [...sheet.first, ...sheet.steps.flatMap((group) => group.lines)];
      expect(lines).toHaveLength(protocol.tables.at(-1)?.rows.length ?? 0);
      for (const { rowId, when, step, due, owner, sources } of lines) {
        const ordered =
          due === 'now' && /\bnow\b/.test(step) ? `${step}: ${owner}` : `${step}, ${due}: ${owner}`;
        expect(text, rowId).toContain(squeeze(rowId));
        expect(text, rowId).toContain(squeeze(when));
        expect(text, rowId).toContain(squeeze(ordered));
        const short = sources.replaceAll(/S-[a-z]+-/g, '').replaceAll('unit choice', 'unit');
        expect(text, rowId).toContain(squeeze(short));
      }
      for (const { name, conditions } of sheet.meanings.flatMap((one) => one.names))
        expect(text).toContain(squeeze(`${name}: ${conditions.join('; or ')}`));
      expect(text).toContain(squeeze(`version ${protocol.version} of "${protocol.id}"`));
      expect(text).toContain(squeeze(standingCaution));
    },
  );

  it('is tagged, needs no colour, keeps its margins, and has no text below 8 points', async () => {
    for (const protocol of starterProtocols) {
      const pdf = await sheetOf(protocol);
      expect([pdf.marked, pdf.lang]).toEqual([true, 'en-GB']);
      for (const tag of ['Document', 'Sect', 'H2', 'H3', 'P'])
        if (tag !== 'H3' || protocol.id !== 'comfort') expect(pdf.tags, protocol.id).toContain(tag);
      for (const page of pdf.pages) {
        expect(page.smallestPt).toBeGreaterThanOrEqual(8);
        expect(Math.min(page.lowestPt - 34, 842 - 34 - page.highestPt)).toBeGreaterThan(0);
      }
      for (const colour of pdf.colours) expect(new Set(colour.split(' ').slice(0, 3)).size, colour).toBe(1);
    }
  });

  it('says large that it is an example until somebody has signed, then who, when and until when', async () => {
    const example = await sheetOf(surgery);
    for (const page of example.pages) expect(page.squeezed).toContain(mark);
    const held = all(await sheetOf(surgery, signed('2027-05-03')));
    expect(held).not.toContain(mark);
    for (const words of [
      'Signed by Ulla Perrin, unit manager, on Mon 5 Oct 2026',
      'Review by Mon 3 May 2027',
    ])
      expect(held).toContain(squeeze(words));
    const past = await sheetOf(surgery, signed('2026-11-27'));
    for (const page of past.pages) expect(page.squeezed).toContain(squeeze('Past its review date'));
    expect(all(await sheetOf(surgery, signed('2026-11-28')))).not.toContain(squeeze('Past its review date'));
  });

  it('says on each page that a retired version is not to be used, though it was signed', async () => {
    const pdf = readPdf(
      await protocolTablesPdf({
        protocol: surgery,
        approval: signed('2027-05-03'),
        retired: { at: '2026-11-20T09:00:00Z', reason: 'A row was wrong.' },
        zone,
        printedAtMs,
      }),
    );
    for (const page of pdf.pages) expect(page.squeezed).toContain(squeeze('Retired, do not use'));
    expect(all(pdf)).toContain(squeeze('Retired on Fri 20 Nov 2026: A row was wrong.'));
  });

  it('goes on to a second page, marked again, when a draft has too many rows for one', async () => {
    const last = surgery.tables.at(-1) as CompiledProtocol['tables'][number];
    const [, row] = last.rows as [unknown, (typeof last.rows)[number]];
    const more = Array.from({ length: 80 }, (_, at) => ({ ...row, id: `MORE-${at}` }));
    const long = {
      ...surgery,
      tables: [...surgery.tables.slice(0, -1), { ...last, rows: [...last.rows, ...more] }],
    };
    const pdf = await sheetOf(long);
    expect(pdf.pages.length).toBeGreaterThan(1);
    for (const page of pdf.pages) {
      expect(page.squeezed).toContain(mark);
      expect(page.lowestPt).toBeGreaterThan(34);
    }
    for (const at of more.keys()) expect(all(pdf)).toContain(`MORE-${at}`);
  });
});

describe('the tables', () => {
  it.each(starters)(
    'of %s hold every row with every answer, and are marked on each page',
    async (_id, protocol) => {
      const pdf = readPdf(await protocolTablesPdf({ protocol, zone, printedAtMs }));
      const text = all(pdf);
      for (const table of sheetTables(protocol))
        for (const cells of table.rows) for (const cell of cells) expect(text).toContain(squeeze(cell));
      for (const page of pdf.pages) {
        expect(page.squeezed).toContain(mark);
        expect(page.smallestPt).toBeGreaterThanOrEqual(8);
      }
      for (const tag of ['Table', 'TR', 'TH', 'TD']) expect(pdf.tags).toContain(tag);
    },
  );
});
