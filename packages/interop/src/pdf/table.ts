// A tagged table that repeats its head on every page and never breaks a row.
import type { Paper, StructureElement, Style } from './paper.ts';

export interface Column {
  readonly head: string;
  /** Share of the width. */
  readonly share: number;
  readonly style?: Style;
  readonly right?: boolean;
}

export interface TableRow {
  readonly cells: readonly string[];
  /** Struck through: set aside, still there. */
  readonly struck?: boolean;
  /** A bar in the margin and bold type: somebody has to act. */
  readonly act?: boolean;
  readonly heightPt?: number;
}

const padPt = 3;

export function drawTable(
  paper: Paper,
  parent: StructureElement,
  columns: readonly Column[],
  rows: readonly TableRow[],
  size = 8,
): void {
  const total = columns.reduce((sum, one) => sum + one.share, 0);
  const widths = columns.map((one) => (paper.width * one.share) / total);
  const lefts = widths.map(
    (_, index) => paper.left + widths.slice(0, index).reduce((sum, one) => sum + one, 0),
  );
  const table = paper.section(parent, 'Table');

  const drawHead = (): void => {
    const laid = columns.map((one, index) =>
      paper.lay(one.head, (widths[index] as number) - 2 * padPt, { weight: 'bold', size: size - 0.5 }),
    );
    const height = Math.max(...laid.map((one) => one.heightPt)) + padPt;
    const row = paper.section(table, 'TR');
    for (const [index, one] of laid.entries())
      paper.tag('TH', row, () => paper.draw(one, (lefts[index] as number) + padPt, paper.y));
    paper.y += height;
    paper.rule(paper.y - 1, 0.75);
  };

  const head = size * 1.3 * 2 + padPt;
  paper.need(head + size * 4);
  drawHead();
  for (const row of rows) {
    const laid = columns.map((one, index) =>
      paper.lay(row.cells[index] ?? '', (widths[index] as number) - 2 * padPt, {
        size,
        ...one.style,
        ...(row.act === true && index < 2 ? { weight: 'bold' as const } : {}),
        ...(row.struck === true ? { struck: true, grey: true } : {}),
      }),
    );
    const height = Math.max(row.heightPt ?? 0, ...laid.map((one) => one.heightPt)) + padPt;
    if (!paper.fits(height)) {
      paper.newPage();
      drawHead();
    }
    const element = paper.section(table, 'TR');
    if (row.act === true)
      paper.artifact(() => paper.doc.rect(paper.left - 4, paper.y, 2.5, height - 2).fill('#000000'));
    for (const [index, one] of laid.entries())
      paper.tag('TD', element, () => paper.draw(one, (lefts[index] as number) + padPt, paper.y + 1));
    paper.y += height;
    paper.rule(paper.y, 0.25);
    paper.y += 1;
  }
  paper.y += 4;
}
