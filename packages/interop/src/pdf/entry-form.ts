/**
 * The bedside's forms on paper, for the hours without the tool: fields, order and words are those of the screen (core's
 * forms), so that what was ticked is keyed in line by line. One sheet a patient, empty boxes, black on white.
 *
 * Units     as each field says; lines to write on are 7 mm high
 * Source    S-print-limits
 */
import {
  askedAfter,
  fieldsInOrder,
  formWords,
  keysOf,
  paperBlocks,
  paperForms,
  standingCaution,
  type Field,
  type FormSpec,
} from '@ebbline/core/present';
import { dayAndTime } from './heads.ts';
import { Paper, type Laid, type SheetSize, type StructureElement } from './paper.ts';

export interface EntryFormPdfInput {
  /** Name of the ward. */
  readonly ward: string;
  readonly scanners: readonly string[];
  readonly zone: string;
  readonly printedAtMs: number;
  readonly size?: SheetSize;
}

const textPt = 8;
const titlePt = 10;
const boxPt = 6.5;
const betweenPt = 9;
const lineToWritePt = 20; // 7 mm, S-print-limits
const tickLinePt = 12.5;
const besideTitlePt = 142;

/** One thing in the flow of a block: words, a box to tick, or a line to write on. */
type Piece =
  | { readonly is: 'label' | 'word'; readonly text: string }
  | { readonly is: 'box'; readonly text: string }
  | { readonly is: 'line'; readonly widthPt: number; readonly text: string };

const writtenPieces = (field: Field): readonly Piece[] =>
  field.type === 'number'
    ? [{ is: 'line', widthPt: 60, text: field.unit }]
    : field.type === 'text'
      ? [{ is: 'line', widthPt: 300, text: '' }]
      : [{ is: 'line', widthPt: 80, text: '' }];

function piecesOf(spec: FormSpec, field: Field): readonly Piece[] {
  const after = askedAfter(spec, field);
  const label = after === undefined ? field.label : `If "${after}": ${field.label}`;
  const keys = keysOf(field);
  const beside: readonly Piece[] =
    spec.id === 'reading' && field.name === spec.pad
      ? [
          { is: 'box', text: formWords.readingKeyWords.atLeast },
          { is: 'box', text: formWords.readingKeyWords.noneSeen },
          { is: 'word', text: formWords.readingKeyWords.repeat },
          { is: 'line', widthPt: 44, text: '' },
          { is: 'line', widthPt: 44, text: '' },
        ]
      : [];
  return [
    { is: 'label', text: label },
    ...keys.map((text): Piece => ({ is: 'box', text })),
    ...(keys.length === 0 || field.type === 'text' ? writtenPieces(field) : []),
    ...beside,
  ];
}

const firstLine: readonly Piece[] = [
  { is: 'label', text: 'Day' },
  { is: 'line', widthPt: 50, text: '' },
  { is: 'label', text: 'Time, 24 h' },
  { is: 'line', widthPt: 60, text: '' },
  { is: 'box', text: formWords.aboutThatTime },
  { is: 'label', text: 'By' },
  { is: 'line', widthPt: 70, text: '' },
];

const whoseLine: readonly Piece[] = [
  { is: 'label', text: 'Bed' },
  { is: 'line', widthPt: 40, text: '' },
  { is: 'label', text: 'Initials' },
  { is: 'line', widthPt: 50, text: '' },
  { is: 'label', text: 'Number on the wristband' },
  { is: 'line', widthPt: 110, text: '' },
  { is: 'label', text: 'Next look by' },
  { is: 'line', widthPt: 60, text: '' },
];

interface Placed {
  readonly piece: Piece;
  readonly words: Laid;
  readonly x: number;
  /** Where its words begin. */
  readonly wordsX: number;
  /** Below the first line of its field. */
  readonly y: number;
}

/** The pieces of one field, laid in lines that turn where the width ends. */
interface Flow {
  readonly placed: readonly Placed[];
  readonly lineHeightPt: number;
  readonly heightPt: number;
}

function flowOf(paper: Paper, pieces: readonly Piece[], lineHeightPt: number, indentPt = 4): Flow {
  const first = paper.left + indentPt;
  let [x, y] = [first, 0];
  const placed = pieces.map((piece): Placed => {
    const weight = piece.is === 'label' ? ('bold' as const) : ('regular' as const);
    const words = paper.lay(piece.text, paper.width, { size: textPt, weight });
    const wordsPt = (words.lines[0] ?? []).reduce((sum, run) => sum + run.width, 0);
    const beforePt = piece.is === 'box' ? boxPt + 3 : piece.is === 'line' ? piece.widthPt + 3 : 0;
    if (x > first && x + beforePt + wordsPt > paper.left + paper.width)
      [x, y] = [paper.left + 16, y + lineHeightPt];
    const at = { piece, words, x, wordsX: x + beforePt, y };
    x += beforePt + wordsPt + betweenPt;
    return at;
  });
  return { placed, lineHeightPt, heightPt: y + lineHeightPt };
}

/** Draws one field inside one tag, so that its question and its answers are heard together. */
function draw(paper: Paper, parent: StructureElement, { placed, lineHeightPt, heightPt }: Flow): void {
  const foot = paper.y + lineHeightPt - 4;
  paper.artifact(() => {
    for (const { piece, x, y } of placed) {
      if (piece.is === 'box')
        paper.doc
          .lineWidth(0.8)
          .rect(x, foot + y - boxPt, boxPt, boxPt)
          .stroke('#000000');
      if (piece.is === 'line')
        paper.doc
          .lineWidth(0.5)
          .moveTo(x, foot + y)
          .lineTo(x + piece.widthPt, foot + y)
          .stroke('#000000');
    }
  });
  paper.tag('P', parent, () => {
    for (const { piece, words, wordsX, y } of placed)
      if (piece.text !== '') paper.draw(words, wordsX, foot + y - textPt);
  });
  paper.y += heightPt;
}

function block(paper: Paper, spec: FormSpec, scanners: readonly string[], onNewPage: () => void): void {
  const flows = [
    flowOf(paper, firstLine, lineToWritePt, besideTitlePt),
    ...fieldsInOrder(spec).map((field) => {
      const pieces = piecesOf(spec, field);
      return flowOf(paper, pieces, pieces.some((one) => one.is === 'line') ? lineToWritePt - 3 : tickLinePt);
    }),
    ...(spec.id === 'reading' && scanners.length > 0
      ? [
          flowOf(
            paper,
            [
              { is: 'label', text: formWords.scannerWord },
              ...scanners.map((text): Piece => ({ is: 'box', text })),
            ],
            tickLinePt,
          ),
        ]
      : []),
  ];
  // A block is never parted by the end of a page.
  if (!paper.fits(flows.reduce((sum, one) => sum + one.heightPt, 8))) {
    paper.newPage();
    onNewPage();
  }
  const section = paper.section();
  paper.rule(paper.y, 1);
  paper.y += 1;
  const title = paper.lay(spec.title, besideTitlePt - 4, { size: titlePt, weight: 'bold' });
  const titleY = paper.y + lineToWritePt - 4 - titlePt;
  paper.tag('H2', section, () => paper.draw(title, paper.left, titleY));
  for (const one of flows) draw(paper, section, one);
  paper.y += 4;
}

export async function entryFormPdf(input: EntryFormPdfInput): Promise<Uint8Array> {
  const { ward, scanners, zone, printedAtMs } = input;
  const paper = new Paper(
    {
      title: 'On paper, for one patient',
      subject: `${ward}: write here while the tool is away; key it in afterwards, under "From paper"`,
      printed: `Empty form, made ${dayAndTime(printedAtMs, zone)}. It does not go out of date.`,
      printedAtMs,
      voidAfter: '',
      foot: standingCaution,
    },
    input.size,
  );
  // Whose sheet it is stands on both sides: what lies face down on a copier is a sheet without a name.
  const whose = (): void => {
    draw(paper, paper.section(), flowOf(paper, whoseLine, lineToWritePt + 2));
    paper.y += 4;
  };
  whose();
  for (const [id, blocks] of paperBlocks) {
    const spec = paperForms.find((one) => one.id === id);
    for (let done = 0; spec !== undefined && done < blocks; done += 1) block(paper, spec, scanners, whose);
  }
  return paper.finish();
}
