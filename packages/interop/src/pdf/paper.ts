/**
 * A page to write on, A4 unless Letter is asked for: text in any of our scripts, wrapped; rules; tags for people who listen; a running head on every
 * page. Everything is black or grey on white, so that a one-colour printer loses nothing.
 *
 * Units     PDF points (1/72 inch); margins 12 mm
 * Source    S-print-limits
 */
import PdfWriter from 'pdfkit';
import { fontBytes, scripts, spellOut, weights, type Script, type Weight } from './fonts.ts';

const pointsOfMm = 72 / 25.4; // S-arithmetic
const marginPt = 12 * pointsOfMm;
/** Sheets that hospitals print on, width and height in points. S-print-limits */
const sheetsPt = { A4: [595.28, 841.89], LETTER: [612, 792] } as const;
export type SheetSize = keyof typeof sheetsPt;

export interface Style {
  readonly weight?: Weight;
  readonly size?: number;
  readonly grey?: boolean;
  readonly struck?: boolean;
  /** Line height as a share of the size; 1.3 when left out. */
  readonly leading?: number;
  /** So many first words in the bold of the same width, as a name before its meaning. */
  readonly boldWords?: number;
}

export interface RunningHead {
  readonly title: string;
  /** Ward, and whom the sheet is about when it is one patient. */
  readonly subject: string;
  readonly printed: string;
  readonly voidAfter: string;
  readonly printedAtMs: number;
  /** Said at the foot of every page. */
  readonly foot: string;
  /** Said large in the head of every page. */
  readonly mark?: string;
  /** Size of the title; 18 points when left out. */
  readonly titlePt?: number;
  /** Size of the foot; 7.5 points when left out. */
  readonly footPt?: number;
}

interface Run {
  readonly font: string;
  readonly text: string;
  readonly width: number;
}
type Line = readonly Run[];

export interface Laid {
  readonly lines: readonly Line[];
  readonly heightPt: number;
  readonly leadingPt: number;
  readonly style: Style;
}

const ink = '#000000';
const greyInk = '#4a4a4a';

interface FontOfWriter {
  readonly font: { hasGlyphForCodePoint(code: number): boolean };
}

export type StructureElement = PDFKit.PDFStructureElement;

export class Paper {
  readonly doc: PDFKit.PDFDocument;
  readonly left = marginPt;
  readonly width: number;
  /** Where the next block begins. */
  y = 0;
  readonly bottom: number;
  private readonly heightPt: number;
  private readonly head: RunningHead;
  private readonly root: StructureElement;
  private readonly chunks: Uint8Array[] = [];
  private readonly done: Promise<Uint8Array>;
  private readonly holds = new Map<string, Set<number> | Map<number, boolean>>();
  private readonly wordWidths = new Map<string, Line>();

  constructor(head: RunningHead, size: SheetSize = 'A4', lang = 'en-GB') {
    this.head = head;
    const [widthPt, heightPt] = sheetsPt[size];
    this.width = widthPt - 2 * marginPt;
    this.heightPt = heightPt;
    this.bottom = heightPt - marginPt - 16;
    this.doc = new PdfWriter({
      size,
      margin: 0,
      autoFirstPage: false,
      bufferPages: true,
      tagged: true,
      lang,
      displayTitle: true,
      pdfVersion: '1.7',
      info: {
        Title: `${head.title}: ${head.subject}`,
        Producer: 'Ebbline',
        Creator: 'Ebbline',
        CreationDate: new Date(head.printedAtMs),
      },
    });
    this.done = new Promise((resolve, reject) => {
      this.doc.on('data', (chunk: Uint8Array) => this.chunks.push(chunk));
      this.doc.on('end', () => resolve(new Uint8Array(Buffer.concat(this.chunks))));
      this.doc.on('error', reject);
    });
    for (const script of scripts)
      for (const weight of weights)
        this.doc.registerFont(`${script}-${weight}`, fontBytes(script, weight) as unknown as ArrayBuffer);
    this.root = this.doc.struct('Document');
    this.doc.addStructure(this.root);
    this.newPage();
  }

  // ---- text

  private has(script: Script, weight: Weight, code: number): boolean {
    const key = `${script}-${weight}`;
    let known = this.holds.get(key) as Map<number, boolean> | undefined;
    if (!known) {
      known = new Map();
      this.holds.set(key, known);
    }
    let answer = known.get(code);
    if (answer === undefined) {
      this.doc.font(key);
      answer = (this.doc as unknown as { _font: FontOfWriter })._font.font.hasGlyphForCodePoint(code);
      known.set(code, answer);
    }
    return answer;
  }

  private runsOf(word: string, weight: Weight, size: number): Line {
    const key = `${weight}/${size}/${word}`;
    const before = this.wordWidths.get(key);
    if (before) return before;
    const runs: { font: string; text: string }[] = [];
    for (const character of word) {
      const code = character.codePointAt(0) as number;
      const script = scripts.find((one) => this.has(one, weight, code));
      const font = `${script ?? 'latin'}-${weight}`;
      const text = script === undefined ? '\uFFFD' : character;
      const last = runs.at(-1);
      if (last?.font === font) last.text += text;
      else runs.push({ font, text });
    }
    const made = runs.map((one) => ({
      ...one,
      width: this.doc.font(one.font).fontSize(size).widthOfString(one.text),
    }));
    this.wordWidths.set(key, made);
    return made;
  }

  /** Wraps text to a width; nothing is drawn. */
  lay(text: string, widthPt: number, style: Style = {}): Laid {
    const size = style.size ?? 9;
    const weight = style.weight ?? 'regular';
    const space = this.runsOf(' ', weight, size)[0]?.width ?? size / 4;
    const widthOf = (runs: Line): number => runs.reduce((sum, one) => sum + one.width, 0);
    const lines: Line[] = [];
    const bold = weight.startsWith('narrow') ? 'narrow-bold' : 'bold';
    let bolds = style.boldWords ?? 0;
    for (const paragraph of spellOut(text).split('\n')) {
      let line: Run[] = [];
      let used = 0;
      const words = paragraph.split(' ').filter((word) => word !== '');
      for (let word of words) {
        const weightNow = bolds > 0 ? bold : weight;
        bolds -= 1;
        let runs = this.runsOf(word, weightNow, size);
        // A word wider than the column is broken, not cut off.
        while (widthOf(runs) > widthPt && word.length > 1) {
          let keep = word.length - 1;
          while (keep > 1 && widthOf(this.runsOf(word.slice(0, keep), weightNow, size)) > widthPt) keep -= 1;
          if (line.length > 0) lines.push(line);
          lines.push(this.runsOf(word.slice(0, keep), weightNow, size));
          line = [];
          used = 0;
          word = word.slice(keep);
          runs = this.runsOf(word, weightNow, size);
        }
        const width = widthOf(runs);
        if (line.length > 0 && used + space + width > widthPt) {
          lines.push(line);
          line = [];
          used = 0;
        }
        if (line.length > 0) {
          line.push({ font: `latin-${weight}`, text: ' ', width: space });
          used += space;
        }
        line.push(...runs);
        used += width;
      }
      lines.push(line);
    }
    const leadingPt = size * (style.leading ?? 1.3);
    return { lines, heightPt: lines.length * leadingPt, leadingPt, style };
  }

  /** Draws laid text; inside a tag, which reads its words in order. */
  draw(laid: Laid, x: number, y: number): void {
    const size = laid.style.size ?? 9;
    this.doc.fillColor(laid.style.grey === true ? greyInk : ink);
    for (const [index, line] of laid.lines.entries()) {
      let at = x;
      const top = y + index * laid.leadingPt;
      // Words of one font go out together, so that a reader hears a sentence and not words.
      const joined: { font: string; text: string; width: number }[] = [];
      for (const run of line) {
        const last = joined.at(-1);
        if (last !== undefined && last.font === run.font) {
          last.text += run.text;
          last.width += run.width;
        } else joined.push({ ...run });
      }
      for (const run of joined) {
        this.doc
          .font(run.font)
          .fontSize(size)
          .text(run.text, at, top, { lineBreak: false, kerning: false } as PDFKit.Mixins.TextOptions);
        at += run.width;
      }
      if (laid.style.struck === true && line.length > 0)
        this.doc
          .lineWidth(0.6)
          .moveTo(x, top + size * 0.72)
          .lineTo(at, top + size * 0.72)
          .stroke(ink);
    }
  }

  // ---- tags

  section(parent?: StructureElement, type: 'Sect' | 'Table' | 'TR' | 'L' = 'Sect'): StructureElement {
    const made = this.doc.struct(type);
    (parent ?? this.root).add(made);
    return made;
  }

  tag(type: string, parent: StructureElement, draw: () => void, alt?: string): void {
    const content = this.doc.markStructureContent(type);
    draw();
    this.doc.endMarkedContent();
    const element = this.doc.struct(type, alt === undefined ? {} : { alt }, [content]);
    parent.add(element);
  }

  /** A square picture at the left, with the words that are heard instead of it. */
  picture(parent: StructureElement, png: Uint8Array, sizePt: number, alt: string): void {
    this.need(sizePt);
    const bytes = png.buffer.slice(png.byteOffset, png.byteOffset + png.byteLength) as ArrayBuffer;
    this.tag(
      'Figure',
      parent,
      () => this.doc.image(bytes, this.left, this.y, { width: sizePt, height: sizePt }),
      alt,
    );
    this.y += sizePt + 4;
  }

  /** Lines and ornaments, which nobody is to hear. */
  artifact(draw: () => void): void {
    this.doc.markContent('Artifact', { type: 'Layout' } as PDFKit.Mixins.MarkingOptions);
    draw();
    this.doc.endMarkedContent();
  }

  rule(y: number, weightPt: number, x = this.left, width = this.width): void {
    this.artifact(() =>
      this.doc
        .lineWidth(weightPt)
        .moveTo(x, y)
        .lineTo(x + width, y)
        .stroke(ink),
    );
  }

  /** A tagged paragraph at the running position, which moves on. */
  paragraph(
    parent: StructureElement,
    text: string,
    style: Style = {},
    options: { readonly type?: string; readonly gapPt?: number; readonly indentPt?: number } = {},
  ): void {
    const indent = options.indentPt ?? 0;
    const laid = this.lay(text, this.width - indent, style);
    this.need(laid.heightPt);
    this.tag(options.type ?? 'P', parent, () => this.draw(laid, this.left + indent, this.y));
    this.y += laid.heightPt + (options.gapPt ?? 3);
  }

  heading(parent: StructureElement, text: string, keepWithPt = 40): void {
    const laid = this.lay(text, this.width, { weight: 'bold', size: 11 });
    this.need(laid.heightPt + keepWithPt);
    if (this.y > this.topPt) {
      this.y += 6;
      this.rule(this.y, 1);
      this.y += 3;
    }
    this.tag('H2', parent, () => this.draw(laid, this.left, this.y));
    this.y += laid.heightPt + 3;
  }

  // ---- pages

  /** True when a block of this height fits on the page. */
  fits(heightPt: number): boolean {
    return this.y + heightPt <= this.bottom;
  }

  /** Turns the page when a block of this height does not fit. */
  need(heightPt: number): void {
    if (!this.fits(heightPt)) this.newPage();
  }

  /** Pages so far. */
  get pages(): number {
    return this.doc.bufferedPageRange().count;
  }

  /** Height that a page has for blocks. */
  get roomPt(): number {
    return this.bottom - this.topPt;
  }

  private topPt = 0;

  newPage(): void {
    this.doc.addPage();
    this.doc.markContent('Artifact', { type: 'Pagination' } as PDFKit.Mixins.MarkingOptions);
    const top = marginPt;
    this.doc
      .lineWidth(4)
      .moveTo(this.left, top + 2)
      .lineTo(this.left + this.width, top + 2)
      .stroke(ink);
    const title = this.lay(this.head.title, this.width * 0.6, {
      weight: 'bold',
      size: this.head.titlePt ?? 18,
    });
    this.draw(title, this.left, top + 9);
    const subject = this.lay(this.head.subject, this.width * 0.6, { size: 9 });
    this.draw(subject, this.left, top + 9 + title.heightPt);
    const printed = this.lay(this.head.printed, this.width * 0.38, { size: 9 });
    const ends = this.lay(this.head.voidAfter, this.width * 0.38, { weight: 'bold', size: 10 });
    const right = this.left + this.width * 0.62;
    const mark =
      this.head.mark === undefined
        ? undefined
        : this.lay(this.head.mark, this.width * 0.38, { weight: 'bold', size: 18, leading: 1.25 });
    if (mark) this.draw(mark, right, top + 9);
    const under = top + 12 + (mark?.heightPt ?? 0);
    const endsPt = this.head.voidAfter === '' ? 0 : ends.heightPt + 2;
    if (endsPt > 0) this.draw(ends, right, under);
    this.draw(printed, right, under + endsPt);
    const below = Math.max(
      top + 12 + title.heightPt + subject.heightPt,
      under + endsPt + printed.heightPt + 2,
    );
    this.doc
      .lineWidth(0.75)
      .moveTo(this.left, below)
      .lineTo(this.left + this.width, below)
      .stroke(ink);
    this.y = below + 6;
    this.doc.endMarkedContent();
    this.topPt = this.y;
  }

  /** Numbers the pages and gives the bytes. */
  finish(): Promise<Uint8Array> {
    const { start, count } = this.doc.bufferedPageRange();
    for (let index = start; index < start + count; index += 1) {
      this.doc.switchToPage(index);
      this.doc.markContent('Artifact', { type: 'Pagination' } as PDFKit.Mixins.MarkingOptions);
      const y = this.heightPt - marginPt - 10;
      this.doc
        .lineWidth(0.5)
        .moveTo(this.left, y - 3)
        .lineTo(this.left + this.width, y - 3)
        .stroke(ink);
      const size = this.head.footPt ?? 7.5;
      this.draw(this.lay(this.head.foot, this.width * 0.8, { size, grey: true }), this.left, y);
      this.draw(
        this.lay(`Page ${index - start + 1} of ${count}`, 80, { size }),
        this.left + this.width - 56,
        y,
      );
      this.doc.endMarkedContent();
    }
    this.root.end();
    this.doc.end();
    return this.done;
  }
}
