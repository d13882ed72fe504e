/**
 * The planes with their outlines and a scale as one PNG, to be looked at elsewhere. No name, no number of a patient: what
 * is burnt into the pictures themselves the person has to look at before it is sent on.
 *
 * Units     pixels of the picture; the bar is 10 mm long at each plane's own scale
 */
import type { GreyPlane, PlaneOutline, PlaneSetGeometry } from '@ebbline/imaging';
import { outlinesOf, type PlaneStates } from '../../shared/planes/edit-history.ts';
import { dashes, runsOf } from '../../shared/planes/outline-drawing.tsx';
import { toPixel } from '../../shared/planes/plane-frame.ts';
import { paint } from '../../shared/planes/plane-stage.tsx';

const ground = '#14110d';
const light = '#dfe9f2';
const words = '#e9e0cd';
const edge = 12;
const line = 20;

export interface SheetWords {
  /** "540 mL, nine times in ten between 430 and 690 mL". */
  readonly volume: string;
  /** Who drew and what was given by hand. */
  readonly drawn: string;
  readonly caution: string;
}

/** Columns that make the sheet about as wide as four to three. */
export function columnsFor(planes: number, width: number, height: number): number {
  return Math.max(1, Math.min(planes, Math.round(Math.sqrt((planes * height * 4) / (width * 3)))));
}

function drawOutline(
  context: CanvasRenderingContext2D,
  outline: PlaneOutline,
  geometry: PlaneSetGeometry,
  faintly: boolean,
): void {
  for (const run of faintly
    ? [{ seenAs: 'seen' as const, points: outline.vertices.map((one) => toPixel(geometry, one)) }]
    : runsOf(outline.vertices, geometry)) {
    context.beginPath();
    for (const [index, { x, y }] of run.points.entries()) {
      if (index === 0) context.moveTo(x, y);
      else context.lineTo(x, y);
    }
    if (faintly) context.closePath();
    context.setLineDash(faintly ? [] : [...(dashes[run.seenAs] ?? [])]);
    context.lineWidth = faintly ? 1 : 2;
    context.strokeStyle = faintly ? words : light;
    context.stroke();
  }
  context.setLineDash([]);
}

/** @param machine the program's outlines, drawn thin where a person's stand over them */
export function drawSheet(
  canvas: HTMLCanvasElement,
  planes: readonly GreyPlane[],
  geometry: PlaneSetGeometry,
  states: PlaneStates,
  machine: PlaneStates,
  said: SheetWords,
): void {
  const [first] = planes;
  const context = canvas.getContext('2d');
  if (!first || !context) return;
  const columns = columnsFor(planes.length, first.width, first.height);
  const rows = Math.ceil(planes.length / columns);
  const cell = { width: first.width + edge, height: first.height + edge + line };
  canvas.width = columns * cell.width + edge;
  canvas.height = rows * cell.height + edge + 4 * line;
  context.fillStyle = ground;
  context.fillRect(0, 0, canvas.width, canvas.height);
  context.font = '14px sans-serif';
  const theirs = outlinesOf(states);
  const programs = outlinesOf(machine);
  const stamp = document.createElement('canvas');
  stamp.width = first.width;
  stamp.height = first.height;
  for (const [index, plane] of planes.entries()) {
    const left = edge + (index % columns) * cell.width;
    const top = edge + Math.floor(index / columns) * cell.height;
    paint(stamp, plane);
    context.drawImage(stamp, left, top);
    context.save();
    context.beginPath();
    context.rect(left, top, first.width, first.height);
    context.clip();
    context.translate(left + 0.5, top + 0.5);
    const own = theirs.find((one) => one.plane === index);
    const programOwn = programs.find((one) => one.plane === index);
    if (programOwn && programOwn !== own) drawOutline(context, programOwn, geometry, true);
    if (own) drawOutline(context, own, geometry, false);
    context.fillStyle = words;
    context.fillRect(6, first.height - 12, 10 / geometry.mmPerPx.x, 3);
    context.fillText('10 mm', 6, first.height - 17);
    context.restore();
    context.fillStyle = words;
    context.fillText(`Plane ${index + 1}${own ? '' : ', no outline'}`, left, top + first.height + 15);
  }
  context.fillStyle = words;
  const foot = canvas.height - 4 * line;
  context.font = 'bold 16px sans-serif';
  context.fillText(said.volume, edge, foot + line * 0.8, canvas.width - 2 * edge);
  context.font = '13px sans-serif';
  context.fillText(said.drawn, edge, foot + line * 1.8, canvas.width - 2 * edge);
  context.fillText(said.caution, edge, foot + line * 2.8, canvas.width - 2 * edge);
}

/** Gives the sheet to the browser as a file. */
export function downloadSheet(canvas: HTMLCanvasElement, name: string): Promise<void> {
  return new Promise((resolve) => {
    canvas.toBlob((blob) => {
      if (blob) {
        const link = document.createElement('a');
        link.href = URL.createObjectURL(blob);
        link.download = name;
        link.click();
        URL.revokeObjectURL(link.href);
      }
      resolve();
    }, 'image/png');
  });
}
