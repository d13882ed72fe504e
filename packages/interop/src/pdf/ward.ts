/**
 * The ward's board on paper, for the hour in which the network or the power is gone: same order as the screen, no bars,
 * and a line on each row to write on, so that it can be keyed back.
 *
 * Source    S-print-limits
 */
import { hourMs } from '@ebbline/core/quantity';
import type { Directory } from '@ebbline/core/record';
import type { DueItem, PatientFacts, WardFacts } from '@ebbline/core/facts';
import { boardRowOf, clock, clockOrDay, labels, ownerWords, whole } from '@ebbline/core/present';
import { ageOnPaper, runningHead } from './heads.ts';
import { Paper } from './paper.ts';
import { drawTable } from './table.ts';

export interface WardPdfInput {
  readonly ward: WardFacts;
  readonly directory: Directory;
  readonly zone: string;
  readonly printedAtMs: number;
  /** When the sheet stops counting; an hour after printing when left out, since it is printed hourly. */
  readonly voidAfterMs?: number;
}

export const itemWords = (item: DueItem): string =>
  item.kind === 'look' || item.kind === 'step' ? labels.steps[item.step] : labels.dueKinds[item.kind];

export async function wardPdf(input: WardPdfInput): Promise<Uint8Array> {
  const { ward, directory, zone, printedAtMs } = input;
  const known = directory.wards.find((one) => one.id === ward.ward);
  const paper = new Paper({
    ...runningHead(
      'Ward sheet',
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
    `${ward.counts.onWatch} watched, ${ward.counts.overdue} overdue, ${ward.counts.dueWithinHour} due within the hour. Figures are in mL; a range is where it lies nine times in ten. Write on the empty line, key it in later.`,
    { size: 8.5 },
    { gapPt: 6 },
  );
  const rows = ward.patients.flatMap((facts: PatientFacts) => {
    const board = boardRowOf(facts, zone, directory);
    const emptied = `${board.emptiedTime} ${board.emptiedHow}`.trim();
    const items = facts.due.length === 0 ? [undefined] : facts.due;
    return items.map((item, index) => ({
      cells: [
        item === undefined
          ? 'nothing due'
          : `${clockOrDay(item.dueAtMs, facts.nowMs, zone)}${item.overdue ? ' overdue' : ''}`,
        index === 0 ? `${board.bed}  ${board.initials}` : `${board.bed}  same`,
        index === 0 ? emptied : '',
        index === 0 ? board.bar.words : '',
        index === 0 ? whole(board.limitMl) : '',
        item === undefined ? '' : itemWords(item),
        ownerWords(item?.owner ?? facts.owner, directory),
        '',
      ],
      act: item?.overdue ?? false,
      heightPt: 26,
    }));
  });
  drawTable(
    paper,
    section,
    [
      { head: 'Due', share: 15 },
      { head: 'Bed', share: 11 },
      { head: 'Last emptied', share: 20 },
      { head: 'Holds, mL', share: 17 },
      { head: 'Limit, mL', share: 8 },
      { head: 'What', share: 18 },
      { head: 'Owner', share: 12 },
      { head: 'Time, volume, who', share: 30 },
    ],
    rows,
  );
  return paper.finish();
}
