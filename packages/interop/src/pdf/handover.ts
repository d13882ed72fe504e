/**
 * The handover sheet of a ward: situation, background, assessment and request for each patient, in the order in which
 * somebody has to act. One patient stands on one page. Every open item of the record is on it, or it says that it isn't.
 *
 * Errors    a patient who needs more than a whole page is set smaller, then goes on to the next page, saying so
 * Source    S-print-limits
 */
import type { Directory } from '@ebbline/core/record';
import type { PatientFacts, WardFacts } from '@ebbline/core/facts';
import { handoverSheetOf, ownerWords, type HandoverEntry } from '@ebbline/core/present';
import { dayAndTime, nextShiftChangeMs, runningHead } from './heads.ts';
import { Paper, type Laid, type StructureElement } from './paper.ts';

export interface HandoverPdfInput {
  readonly ward: WardFacts;
  readonly directory: Directory;
  readonly zone: string;
  readonly printedAtMs: number;
  /** When the sheet stops counting; the next shift change when left out. */
  readonly voidAfterMs?: number;
}

const leftPt = 74;
const rightPt = 122;
const gapPt = 10;

interface LaidEntry {
  readonly entry: HandoverEntry;
  readonly bed: Laid;
  readonly who: Laid;
  readonly due: Laid;
  readonly must: Laid | undefined;
  readonly rows: readonly { readonly letter: Laid; readonly text: Laid; readonly name: string }[];
  readonly right: readonly Laid[];
  readonly heightPt: number;
}

function acceptance(entry: HandoverEntry, facts: PatientFacts, input: HandoverPdfInput): readonly string[] {
  const readBack = facts.ownership.at(-1)?.readBack;
  const offers = entry.offers.map(
    (one) => `Offered to ${ownerWords(one.to, input.directory)}, not yet accepted.`,
  );
  return [
    `Now with ${entry.ownerShown}.`,
    ...offers,
    ...(readBack === undefined ? [] : [`Read back: “${readBack}”`]),
  ];
}

function layEntry(
  paper: Paper,
  entry: HandoverEntry,
  facts: PatientFacts,
  input: HandoverPdfInput,
  size: number,
): LaidEntry {
  const middle = paper.width - leftPt - rightPt - 2 * gapPt;
  const textWidth = middle - 18;
  const cautions =
    entry.cautions.length === 0 ? [] : [{ name: 'Cautions', key: '!', text: entry.cautions.join(' ') }];
  const rows = [
    { name: 'Situation', key: 'S', text: entry.sbar.situation },
    { name: 'Background', key: 'B', text: entry.sbar.background },
    { name: 'Assessment', key: 'A', text: entry.sbar.assessment },
    { name: 'Request', key: 'R', text: entry.sbar.request },
    ...cautions,
  ].map((one) => ({
    name: one.name,
    letter: paper.lay(one.key, 16, { weight: 'bold', size: size + 1 }),
    text: paper.lay(one.text, textWidth, { size, ...(one.key === '!' ? { weight: 'italic' as const } : {}) }),
  }));
  const must =
    entry.mustName.length === 0
      ? undefined
      : paper.lay(
          `Bed ${entry.bed} has ${entry.mustName.join('; ')}. This can't be handed over in silence: accept it by name, or ${entry.ownerShown} keeps it.`,
          paper.width - 34,
          { weight: 'bold', size },
        );
  const bed = paper.lay(entry.bed, leftPt, { weight: 'bold', size: 17 });
  const who = paper.lay(entry.who, leftPt, { size });
  const due = paper.lay(entry.due, leftPt, { weight: 'bold', size });
  const right = acceptance(entry, facts, input).map((text) =>
    paper.lay(text, rightPt, {
      size,
      ...(text.startsWith('Read back') ? { weight: 'italic' as const } : {}),
    }),
  );
  const rowsPt = rows.reduce((sum, one) => sum + one.text.heightPt + 4, 0);
  const rightSide = right.reduce((sum, one) => sum + one.heightPt + 2, 0) + 46;
  const leftSide = bed.heightPt + who.heightPt + due.heightPt + 6;
  return {
    entry,
    bed,
    who,
    due,
    must,
    rows,
    right,
    heightPt: (must === undefined ? 0 : must.heightPt + 10) + Math.max(rowsPt, rightSide, leftSide) + 10,
  };
}

/** The open box, filled flag and lines on which somebody signs. */
function drawSignature(paper: Paper, section: StructureElement, x: number, y: number): number {
  const { doc } = paper;
  paper.tag('P', section, () => {
    paper.draw(paper.lay('Read back and accepted by', rightPt - 16, { size: 7.5 }), x + 14, y + 1);
    paper.draw(paper.lay('Signed', 30, { size: 7.5 }), x, y + 28);
    paper.draw(paper.lay('time', 20, { size: 7.5 }), x + 80, y + 28);
  });
  paper.artifact(() => {
    doc.lineWidth(1).rect(x, y, 9, 9).stroke('#000000');
    doc
      .lineWidth(0.5)
      .moveTo(x, y + 24)
      .lineTo(x + rightPt, y + 24)
      .stroke();
    doc
      .moveTo(x + 26, y + 36)
      .lineTo(x + 78, y + 36)
      .stroke();
    doc
      .moveTo(x + 97, y + 36)
      .lineTo(x + rightPt, y + 36)
      .stroke();
  });
  return 42;
}

function drawEntry(paper: Paper, laid: LaidEntry): void {
  const { doc } = paper;
  const section = paper.section();
  paper.rule(paper.y, 1.5);
  paper.y += 5;
  if (laid.must !== undefined) {
    const { must } = laid;
    const top = paper.y;
    paper.artifact(() => {
      doc
        .lineWidth(1.2)
        .rect(paper.left, top, paper.width, must.heightPt + 6)
        .stroke('#000000');
      // Filled swallow-tail: somebody must go now.
      doc
        .moveTo(paper.left + 8, top + 4)
        .lineTo(paper.left + 22, top + 4)
        .lineTo(paper.left + 18, top + 9)
        .lineTo(paper.left + 22, top + 14)
        .lineTo(paper.left + 8, top + 14)
        .fill('#000000');
    });
    paper.tag('P', section, () => paper.draw(must, paper.left + 28, top + 3));
    paper.y += must.heightPt + 10;
  }
  const top = paper.y;
  paper.tag('H2', section, () => paper.draw(laid.bed, paper.left, top));
  paper.tag('P', section, () => {
    paper.draw(laid.who, paper.left, top + laid.bed.heightPt);
    paper.draw(laid.due, paper.left, top + laid.bed.heightPt + laid.who.heightPt + 3);
  });
  const middleX = paper.left + leftPt + gapPt;
  const textX = middleX + 18;
  const rightX = paper.left + paper.width - rightPt;
  let y = top;
  let pageTurned = false;
  for (const [index, row] of laid.rows.entries()) {
    let { lines } = row.text;
    for (let first = true; lines.length > 0; first = false) {
      const room = Math.floor((paper.bottom - y) / row.text.leadingPt);
      if (room < Math.min(2, lines.length)) {
        paper.newPage();
        y = paper.y;
        pageTurned = true;
        const goesOn = paper.lay(`Bed ${laid.entry.bed}, continued`, paper.width, {
          weight: 'bold',
          size: 9,
        });
        paper.tag('P', section, () => paper.draw(goesOn, paper.left, y));
        y += goesOn.heightPt + 4;
        continue;
      }
      if (index > 0 && first) paper.rule(y - 2, 0.25, middleX, rightX - gapPt - middleX);
      const now = { ...row.text, lines: lines.slice(0, room) };
      paper.tag('P', section, () => {
        paper.draw(row.letter, middleX, y - 1);
        paper.draw(now, textX, y);
      });
      y += now.lines.length * row.text.leadingPt + 4;
      lines = lines.slice(room);
    }
  }
  let right = pageTurned ? y : top;
  for (const one of laid.right) {
    paper.tag('P', section, () => paper.draw(one, rightX, right));
    right += one.heightPt + 2;
  }
  right += drawSignature(paper, section, rightX, right + 4) + 4;
  if (!pageTurned)
    paper.artifact(() =>
      doc
        .lineWidth(0.5)
        .moveTo(rightX - gapPt / 2, top)
        .lineTo(rightX - gapPt / 2, Math.max(y, right) - 4)
        .stroke('#000000'),
    );
  paper.y = Math.max(y, right, top + laid.bed.heightPt + laid.who.heightPt + laid.due.heightPt) + 5;
}

export async function handoverPdf(input: HandoverPdfInput): Promise<Uint8Array> {
  const { ward, directory, zone, printedAtMs } = input;
  const sheet = handoverSheetOf(ward, zone, directory);
  const voidAfterMs = input.voidAfterMs ?? nextShiftChangeMs(directory, ward.ward, printedAtMs, zone);
  const paper = new Paper(
    runningHead(
      'Handover',
      `${sheet.wardName}, as of ${dayAndTime(ward.nowMs, zone)}`,
      printedAtMs,
      voidAfterMs,
      zone,
    ),
  );
  const summary = paper.section();
  const complete =
    sheet.itemsOnSheet === sheet.itemsInRecord
      ? ''
      : ' Do not use this sheet: items of the record are missing on it.';
  paper.paragraph(
    summary,
    `${ward.counts.onWatch} watched, ${ward.counts.overdue} overdue, ${ward.counts.dueWithinHour} due within the hour. Open items on this sheet: ${sheet.itemsOnSheet} of ${sheet.itemsInRecord} in the record.${complete}`,
    { size: 9.5 },
    { gapPt: 6 },
  );
  if (sheet.entries.length === 0) paper.paragraph(summary, 'Nobody is on watch here.');
  for (const [index, entry] of sheet.entries.entries()) {
    const facts = ward.patients[index] as PatientFacts;
    const laid =
      [9, 8.25, 7.5]
        .map((size) => layEntry(paper, entry, facts, input, size))
        .find((one) => one.heightPt <= paper.roomPt) ?? layEntry(paper, entry, facts, input, 7.5);
    paper.need(Math.min(laid.heightPt, paper.roomPt));
    drawEntry(paper, laid);
  }
  paper.rule(paper.y, 3);
  return paper.finish();
}
