/**
 * Everything that is due on a ward by its time, whoever has it, with room to write what was done: what a ward works from
 * in the hours without the tool. Overdue first, then by the clock.
 *
 * Source    S-print-limits
 */
import { clock, clockOrDay, ownerWords, whole } from '@ebbline/core/present';
import { ageOnPaper, runningHead } from './heads.ts';
import { Paper } from './paper.ts';
import { drawTable, type TableRow } from './table.ts';
import { itemWords, type WardPdfInput } from './ward.ts';
import { hourMs } from '@ebbline/core/quantity';

/** Empty lines at the end, for what becomes due meanwhile. */
const emptyLines = 8;

export async function dueListPdf(input: WardPdfInput): Promise<Uint8Array> {
  const { ward, directory, zone, printedAtMs } = input;
  const known = directory.wards.find((one) => one.id === ward.ward);
  const paper = new Paper({
    ...runningHead(
      'Due list',
      known?.name ?? ward.ward,
      printedAtMs,
      input.voidAfterMs ?? printedAtMs + hourMs,
      zone,
    ),
    mark: `As of ${clock(ward.nowMs, zone)}`,
  });
  const section = paper.section();
  paper.paragraph(section, ageOnPaper(ward.nowMs, zone), { weight: 'bold', size: 9.5 }, { gapPt: 4 });
  paper.paragraph(
    section,
    'Each line has one owner. When it is done, write the time, who, and when the next look is due; put that on an empty line below.',
    { size: 8.5 },
    { gapPt: 6 },
  );
  const items = ward.patients
    .flatMap((facts) => facts.due.map((item) => ({ facts, item })))
    .sort((a, b) => a.item.dueAtMs - b.item.dueAtMs || (a.facts.bed < b.facts.bed ? -1 : 1));
  const rows = items.map(({ facts, item }): TableRow => ({
    cells: [
      `${clockOrDay(item.dueAtMs, ward.nowMs, zone)}${item.overdue ? ' overdue' : ''}`,
      `${facts.bed}  ${facts.initials}`,
      itemWords(item),
      item.why,
      `limit ${whole(facts.limitMl)} mL`,
      ownerWords(item.owner, directory),
      '',
      '',
      '',
    ],
    act: item.overdue,
    heightPt: 24,
  }));
  const empty = Array.from({ length: emptyLines }, (): TableRow => ({ cells: [], heightPt: 24 }));
  drawTable(
    paper,
    section,
    [
      { head: 'Due', share: 14 },
      { head: 'Bed', share: 11 },
      { head: 'What', share: 17 },
      { head: 'Why', share: 26, style: { weight: 'narrow' } },
      { head: 'Limit', share: 11, style: { weight: 'narrow' } },
      { head: 'Owner', share: 10 },
      { head: 'Done at', share: 10 },
      { head: 'By', share: 8 },
      { head: 'Next look', share: 11 },
    ],
    [...rows, ...empty],
  );
  return paper.finish();
}
