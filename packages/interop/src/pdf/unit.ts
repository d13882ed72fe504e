/**
 * What the unit can show of itself over a span. Catheters avoided and late detections stand in one frame: neither is
 * printed without the other.
 *
 * Source    S-print-limits; definitions from core/facts
 */
import { calendarDay, controlIsOn, dayMs } from '@ebbline/core/quantity';
import type { Directory } from '@ebbline/core/record';
import type { UnitFigures } from '@ebbline/core/facts';
import { personWords, whole } from '@ebbline/core/present';
import { runningHead } from './heads.ts';
import { Paper } from './paper.ts';
import { drawTable } from './table.ts';

export interface UnitPdfInput {
  readonly figures: UnitFigures;
  readonly ward: string;
  readonly directory: Directory;
  readonly zone: string;
  readonly printedAtMs: number;
}

interface ShareLike {
  readonly count: number;
  readonly of: number;
  readonly intervalPercent?: { readonly low: number; readonly high: number };
}

// One watch can have several late detections: a share above one says nothing, so the two counts stand side by side.
const shareWords = ({ count, of, intervalPercent }: ShareLike): string =>
  of === 0
    ? 'none to count'
    : count > of
      ? `${whole(count)}, in ${whole(of)} watches`
      : `${whole(count)} of ${whole(of)} (${Math.round((count / of) * 100)} %${intervalPercent === undefined ? '' : `; ${Math.round(intervalPercent.low)} to ${Math.round(intervalPercent.high)} % with 95 % confidence`})`;

const keptDays = 31;

export async function unitPdf(input: UnitPdfInput): Promise<Uint8Array> {
  const { figures, directory, zone, printedAtMs, ward } = input;
  const known = directory.wards.find((one) => one.id === ward);
  const paper = new Paper(
    runningHead(
      'Unit figures',
      `${known?.name ?? ward}, ${calendarDay(figures.fromMs, zone)} to ${calendarDay(figures.toMs - 1, zone)}`,
      printedAtMs,
      printedAtMs + keptDays * dayMs,
      zone,
    ),
  );
  const section = paper.section();
  const words = [
    [
      `Catheters avoided: ${shareWords(figures.paired.cathetersAvoided)}.`,
      'A watch in which somebody was measured and no catheter, in-out or left in, followed within 24 hours of the first reading. There is no standard definition.',
    ],
    [
      `Late detections: ${shareWords(figures.paired.lateDetections)}.`,
      'A volume over the limit that was first known from a drain or a reading after the event.',
    ],
  ] as const;
  const laid = (controlIsOn('H9-paired-on-paper') ? words : words.slice(0, 1)).map(
    ([figure, meaning]) =>
      [
        paper.lay(figure, paper.width / 2 - 20, { weight: 'bold', size: 12 }),
        paper.lay(meaning, paper.width / 2 - 20, { size: 8.5 }),
      ] as const,
  );
  const height = Math.max(...laid.map(([figure, meaning]) => figure.heightPt + meaning.heightPt)) + 16;
  const top = paper.y;
  paper.artifact(() => {
    paper.doc.lineWidth(1).rect(paper.left, top, paper.width, height).stroke('#000000');
    paper.doc
      .lineWidth(0.5)
      .rect(paper.left + 2.5, top + 2.5, paper.width - 5, height - 5)
      .stroke('#000000');
    paper.doc
      .moveTo(paper.left + paper.width / 2, top + 2.5)
      .lineTo(paper.left + paper.width / 2, top + height - 2.5)
      .stroke('#000000');
  });
  for (const [index, [figure, meaning]] of laid.entries()) {
    const x = paper.left + 10 + (index * paper.width) / 2;
    paper.tag('P', section, () => {
      paper.draw(figure, x, top + 8);
      paper.draw(meaning, x, top + 8 + figure.heightPt);
    });
  }
  paper.y = top + height + 8;
  drawTable(
    paper,
    section,
    [
      { head: 'Figure', share: 40 },
      { head: 'Value', share: 60 },
    ],
    [
      { cells: ['Watches opened', whole(figures.watches)] },
      { cells: ['Readings', whole(figures.readings)] },
      { cells: ['Looks due', whole(figures.looks.due)] },
      { cells: ['Looks in time', shareWords(figures.looks.inTime)] },
      { cells: ['Looks late', shareWords(figures.looks.late)] },
      { cells: ['Looks missed', shareWords(figures.looks.missed)] },
      { cells: ['In-outs', whole(figures.inOuts)] },
      {
        cells: [
          'Catheter-days',
          `${whole(figures.catheterDays)} of ${whole(figures.watchedDays)} patient-days on watch`,
        ],
      },
      { cells: ['Voids not measured', `${whole(figures.voids.unmeasured)} of ${whole(figures.voids.all)}`] },
    ],
    9,
  );
  if (figures.pairs.length > 0) {
    paper.heading(section, 'Readings beside what was drained');
    const percent = (value: number): string =>
      Number.isFinite(value) ? `${value > 0 ? '+' : ''}${Math.round(value)}` : 'no share';
    drawTable(
      paper,
      section,
      [
        { head: 'Read, mL', share: 20 },
        { head: 'Drained, mL', share: 14 },
        { head: 'Apart, min', share: 12 },
        { head: 'Difference, % (filling allowed for)', share: 26 },
        { head: 'Scanner', share: 20 },
        { head: 'Read by', share: 20 },
      ],
      figures.pairs.map((pair) => ({
        cells: [
          `${pair.readAtLeast ? 'at least ' : ''}${whole(pair.readMl)}`,
          whole(pair.drainedMl),
          String(Math.round(pair.apartMin)),
          pair.differencePercent
            ? `${percent(pair.differencePercent.low)} to ${percent(pair.differencePercent.high)}`
            : 'too little drained',
          directory.scanners.find((one) => one.id === pair.scanner)?.name ?? pair.scanner ?? 'not named',
          personWords(pair.operator, directory),
        ],
        ...(pair.readMuchDrainedLittle ? { act: true } : {}),
      })),
    );
  }
  return paper.finish();
}
