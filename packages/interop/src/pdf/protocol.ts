/**
 * A protocol on paper, from the very tables that answer at the bedside: one sheet to lie on a desk, or its tables whole.
 * Until somebody has signed it, every page says large that it is an example; past its review date it says that.
 *
 * Units     points; no text below 8 pt (S-print-flow-sheet)
 */
import { calendarDay, instantMs } from '@ebbline/core/quantity';
import type { Advice } from '@ebbline/core/record';
import { labels, standingCaution } from '@ebbline/core/present';
import {
  flowSheet,
  sheetTables,
  type CompiledProtocol,
  type FlowSheet,
  type SheetLine,
} from '@ebbline/protocol';
import { dayAndTime } from './heads.ts';
import { Paper, type Laid, type RunningHead, type StructureElement, type Style } from './paper.ts';
import { drawTable } from './table.ts';

export type ProtocolApproval = Advice['protocol']['approval'];

export interface ProtocolPdfInput {
  readonly protocol: CompiledProtocol;
  /** Who has signed this version; the protocol's own when left out. */
  readonly approval?: ProtocolApproval;
  /** When a version no longer holds: since when and why. */
  readonly retired?: { readonly at: string; readonly reason: string };
  readonly zone: string;
  readonly printedAtMs: number;
}

const smallest = 8;
/** Line heights, and gaps between rows, that are tried, widest first, until the sheet stands on one page. */
const tried = [
  { leading: 1.16, gapPt: 3 },
  { leading: 1.1, gapPt: 2 },
  { leading: 1.04, gapPt: 1.5 },
] as const;
interface Styles {
  readonly body: Style;
  readonly strong: Style;
  readonly grey: Style;
  readonly lineHeightPt: number;
  readonly gapPt: number;
}
const stylesOf = ({ leading, gapPt }: (typeof tried)[number]): Styles => {
  const body = { size: smallest, leading, weight: 'narrow' } as const;
  return {
    body,
    strong: { ...body, weight: 'narrow-bold' },
    grey: { ...body, grey: true },
    lineHeightPt: smallest * leading,
    gapPt,
  };
};
const exampleMark = 'Example, not approved';

/** `Mon 3 May 2027`. */
const day = (ms: number, zone: string): string => dayAndTime(ms, zone).slice(0, -6);
const dayOfDate = (date: string): string => day(Date.parse(`${date}T12:00:00Z`), 'UTC');

function head(
  what: string,
  input: ProtocolPdfInput,
): { readonly head: RunningHead; readonly standing: string } {
  const { protocol, zone, printedAtMs } = input;
  const approval = input.approval ?? protocol.approval;
  const { retired } = input;
  const printed = `Printed ${dayAndTime(printedAtMs, zone)}.`;
  const common = {
    title: protocol.title,
    subject: `${what}, version ${protocol.version} of "${protocol.id}"`,
    printed,
    printedAtMs,
    foot: standingCaution,
    footPt: smallest,
    titlePt: 15,
  };
  if (retired) {
    const since = `Retired on ${day(instantMs(retired.at), zone)}`;
    return {
      head: { ...common, voidAfter: since, mark: 'Retired, do not use' },
      standing: `${since}: ${retired.reason} Do not use this version.`,
    };
  }
  if (approval === 'example-not-approved')
    return {
      head: { ...common, voidAfter: '', mark: exampleMark },
      standing: `${exampleMark}: nobody has signed it, and it has no review date.`,
    };
  const { signedBy, role, on, reviewBy } = approval;
  const signed = `Signed by ${signedBy}, ${labels.roles[role].toLowerCase()}, on ${day(instantMs(on), zone)}.`;
  const past = reviewBy < calendarDay(printedAtMs, zone);
  return {
    head: {
      ...common,
      voidAfter: `Review by ${dayOfDate(reviewBy)}`,
      ...(past ? { mark: 'Past its review date' } : {}),
    },
    standing: past
      ? `Past its review date: the review was due by ${dayOfDate(reviewBy)}. ${signed}`
      : `${signed} Review by ${dayOfDate(reviewBy)}.`,
  };
}

/** `S-clinical-E14` is long to say forty times; the sheet says once what the short forms stand for. */
const shortSources = (sources: string): string =>
  sources.replaceAll(/S-[a-z]+-(?=[A-Z]\d)/g, '').replaceAll('unit choice', 'unit');

const columnGapPt = 10;
const idPt = 28;
const padPt = 2;

interface Block {
  readonly heightPt: number;
  /** The heading over it, repeated where a column parts it from its heading. */
  readonly under?: Block;
  readonly draw: (parent: StructureElement, x: number, y: number) => void;
}

function titleBlock(paper: Paper, styles: Styles, widthPt: number, text: string): Block {
  const laid = paper.lay(text, widthPt - 2 * padPt, styles.strong);
  return {
    heightPt: laid.heightPt + 4,
    draw: (parent, x, y) => {
      paper.artifact(() => paper.doc.rect(x, y, widthPt, laid.heightPt + 2).fill('#e4e4e4'));
      paper.tag('H3', parent, () => paper.draw(laid, x + padPt, y + 1));
    },
  };
}

const widthOf = (laid: Laid): number => (laid.lines.at(-1) ?? []).reduce((sum, run) => sum + run.width, 0);

/** A piece of text at its place in a block. */
interface Put {
  readonly laid: Laid;
  readonly x: number;
  readonly y: number;
}

/**
 * Rows that lead to one step: each with its id, what is asked and its sources; below them in bold what to do, by when and
 * whose it is. One row stands on one line with its step where there is room.
 */
function rowsBlock(paper: Paper, styles: Styles, widthPt: number, lines: readonly SheetLine[]): Block {
  const width = widthPt - idPt;
  const [first] = lines as readonly [SheetLine];
  const due = first.due === 'now' && /\bnow\b/.test(first.step) ? '' : `, ${first.due}`;
  const todo = paper.lay(`${first.step}${due}: ${first.owner}`, width, styles.strong);
  const put: Put[] = [];
  let y = 0;
  let beside: Laid | undefined;
  for (const line of lines) {
    put.push({ laid: paper.lay(line.rowId, idPt, styles.body), x: 0, y });
    const when = paper.lay(line.when === '' ? '' : `${line.when}:`, width, styles.body);
    const sources = paper.lay(shortSources(line.sources), width, styles.grey);
    const alone = lines.length === 1;
    const oneLine = alone && when.lines.length <= 1 && widthOf(when) + 4 + widthOf(todo) <= width;
    const right = widthPt - widthOf(sources);
    const room = width - 8 - widthOf(sources);
    const nothingAsked = line.when === '' && alone;
    if (!nothingAsked) put.push({ laid: when, x: idPt, y });
    const lastLineY = y + when.heightPt - styles.lineHeightPt;
    if (oneLine) {
      const todoX = nothingAsked ? 0 : widthOf(when) + 4;
      put.push({ laid: todo, x: idPt + todoX, y });
      const fits = sources.lines.length === 1 && todoX + widthOf(todo) <= room;
      put.push({ laid: sources, x: fits ? right : idPt, y: fits ? y : y + styles.lineHeightPt });
      y += styles.lineHeightPt + (fits ? 0 : sources.heightPt);
    } else if (alone && todo.lines.length === 1 && widthOf(todo) <= room) {
      y += nothingAsked ? 0 : when.heightPt;
      beside = sources;
    } else {
      const fits = sources.lines.length === 1 && widthOf(when) <= room;
      put.push({ laid: sources, x: fits ? right : idPt, y: fits ? lastLineY : y + when.heightPt });
      y += when.heightPt + (fits ? 0 : sources.heightPt);
    }
    if (oneLine) continue;
    if (line !== lines.at(-1)) continue;
    put.push({ laid: todo, x: idPt, y });
    if (beside) put.push({ laid: beside, x: right, y: y + todo.heightPt - styles.lineHeightPt });
    y += todo.heightPt;
  }
  return {
    heightPt: y + styles.gapPt,
    draw: (parent, x, top) => {
      paper.artifact(() =>
        paper.doc
          .lineWidth(0.25)
          .moveTo(x, top - 1)
          .lineTo(x + widthPt, top - 1)
          .stroke('#000000'),
      );
      paper.tag('P', parent, () => {
        for (const one of put) paper.draw(one.laid, x + one.x, top + one.y);
      });
    },
  };
}

/** Rows that follow each other and lead to the same step stand together. */
function byStep(lines: readonly SheetLine[]): readonly (readonly SheetLine[])[] {
  const together: SheetLine[][] = [];
  for (const line of lines) {
    const before = together.at(-1);
    const same = (one: SheetLine | undefined): boolean =>
      one !== undefined && one.step === line.step && one.due === line.due && one.owner === line.owner;
    if (before && same(before[0])) before.push(line);
    else together.push([line]);
  }
  return together;
}

function meaningBlock(
  paper: Paper,
  styles: Styles,
  widthPt: number,
  name: string,
  conditions: readonly string[],
): Block {
  const boldWords = `${name}:`.split(' ').length;
  const laid = paper.lay(`${name}: ${conditions.join('; or ')}`, widthPt, { ...styles.body, boldWords });
  return {
    heightPt: laid.heightPt + styles.gapPt,
    draw: (parent, x, y) => paper.tag('P', parent, () => paper.draw(laid, x, y)),
  };
}

/** Fills columns from the left, each to about the same height; a heading stays with what follows it. */
function drawColumns(
  paper: Paper,
  parent: StructureElement,
  blocks: readonly Block[],
  columns: number,
): void {
  const widthPt = columnWidth(paper, columns);
  const total = blocks.reduce((sum, one) => sum + one.heightPt, 0);
  const tallest = Math.max(...blocks.map((one) => one.heightPt), 0);
  let heightPt = total / columns;
  // The least height at which all blocks find a place.
  while (columnsNeeded(blocks, heightPt) > columns && heightPt < total + tallest) heightPt += 2;
  if (!paper.fits(heightPt)) {
    if (heightPt <= paper.roomPt) paper.newPage();
    else heightPt = paper.bottom - paper.y;
  }
  let [column, y, lowest] = [0, paper.y, paper.y];
  const put = (block: Block): void => {
    block.draw(parent, paper.left + column * (widthPt + columnGapPt), y);
    y += block.heightPt;
    lowest = Math.max(lowest, y);
  };
  for (const block of blocks) {
    if (y + block.heightPt > paper.y + heightPt + 0.5 && y > paper.y) {
      column += 1;
      y = paper.y;
      if (column === columns) {
        paper.newPage();
        heightPt = paper.bottom - paper.y;
        [column, y, lowest] = [0, paper.y, paper.y];
      }
      if (block.under) put(block.under);
    }
    put(block);
  }
  paper.y = lowest + 4;
}

function columnsNeeded(blocks: readonly Block[], heightPt: number): number {
  let [columns, used] = [1, 0];
  for (const block of blocks) {
    if (used > 0 && used + block.heightPt > heightPt + 0.5)
      [columns, used] = [columns + 1, block.under?.heightPt ?? 0];
    used += block.heightPt;
  }
  return columns;
}

const columnWidth = (paper: Paper, columns: number): number =>
  (paper.width - columnGapPt * (columns - 1)) / columns;

function part(paper: Paper, title: string): StructureElement {
  const section = paper.section();
  const laid = paper.lay(title, paper.width, { size: 9.5, weight: 'bold', leading: 1.15 });
  paper.need(laid.heightPt + 30);
  paper.rule(paper.y, 1);
  paper.tag('H2', section, () => paper.draw(laid, paper.left, paper.y + 2));
  paper.y += laid.heightPt + 4;
  return section;
}

/** The flow sheet: signs first, what the names mean, then the steps by where the bladder stands. */
export async function flowSheetPdf(input: ProtocolPdfInput): Promise<Uint8Array> {
  let paper = drawFlowSheet(input, stylesOf(tried[0]));
  for (const tighter of tried.slice(1)) if (paper.pages > 1) paper = drawFlowSheet(input, stylesOf(tighter));
  return paper.finish();
}

function drawFlowSheet(input: ProtocolPdfInput, styles: Styles): Paper {
  const sheet = flowSheet(input.protocol);
  const { head: running, standing } = head('Flow sheet', input);
  const paper = new Paper(running);
  paper.paragraph(paper.section(), introduction(sheet, standing), styles.body, { gapPt: 3 });
  const width = columnWidth(paper, 2);
  const first = part(paper, 'First, before any number');
  drawColumns(
    paper,
    first,
    byStep(sheet.first).map((rows) => rowsBlock(paper, styles, width, rows)),
    2,
  );
  const meanings = sheet.meanings.flatMap((one) => one.names);
  if (meanings.length > 0)
    drawColumns(
      paper,
      part(paper, 'Then, what the names below mean'),
      meanings.map(({ name, conditions }) =>
        meaningBlock(paper, styles, columnWidth(paper, 3), name, conditions),
      ),
      3,
    );
  if (sheet.steps.length > 0)
    drawColumns(
      paper,
      part(paper, 'Then, the step'),
      sheet.steps.flatMap((group) => groupBlocks(paper, styles, width, group)),
      2,
    );
  return paper;
}

/** A heading with its lines; a single line takes its heading in. */
function groupBlocks(
  paper: Paper,
  styles: Styles,
  width: number,
  { heading, lines }: FlowSheet['steps'][number],
): readonly Block[] {
  const [only] = lines;
  if (only !== undefined && lines.length === 1) {
    const when = [heading, only.when].filter((words) => words !== '').join(', ');
    return [rowsBlock(paper, styles, width, [{ ...only, when }])];
  }
  const words = heading === '' ? 'Whatever was read' : heading;
  const under = titleBlock(paper, styles, width, `${words}, continued`);
  const [opening, ...more] = byStep(lines).map((rows) => rowsBlock(paper, styles, width, rows));
  const title = titleBlock(paper, styles, width, words);
  return opening ? [together(title, opening), ...more.map((block) => ({ ...block, under }))] : [title];
}

/** Two blocks that no column parts. */
const together = (upper: Block, lower: Block): Block => ({
  heightPt: upper.heightPt + lower.heightPt,
  draw: (parent, x, y) => {
    upper.draw(parent, x, y);
    lower.draw(parent, x, y + upper.heightPt);
  },
});

const introduction = (sheet: FlowSheet, standing: string): string =>
  `${standing} For: ${sheet.settings}; ${sheet.ages}. Read each part from the top; the first line that fits counts. ${sheet.lowResidual}. A look is due earlier when the limit could be reached before it. Sources: E14 stands for S-clinical-E14, unit for a choice that each unit makes. Whom to tell and what to write down stand in the tables.`;

/** All tables, each row with its conditions and its answers in words. */
export async function protocolTablesPdf(input: ProtocolPdfInput): Promise<Uint8Array> {
  const { head: running, standing } = head('Tables', input);
  const paper = new Paper(running);
  paper.paragraph(
    paper.section(),
    `${standing} The tables are asked in this order; the first answers before the second is asked. Exactly one row fits a patient, unless the table says that the first counts.`,
    { size: 9 },
    { gapPt: 4 },
  );
  for (const table of sheetTables(input.protocol)) {
    const section = paper.section();
    paper.heading(
      section,
      table.firstCounts ? `${table.title} (the first row that fits counts)` : table.title,
    );
    drawTable(
      paper,
      section,
      table.columns.map((one) => ({ ...one, style: { weight: 'narrow' as const } })),
      table.rows.map((cells) => ({ cells })),
      smallest + 0.5,
    );
  }
  return paper.finish();
}
