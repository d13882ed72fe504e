/**
 * An outline under a person's hand. Each vertex moves along its own ray from a fixed centre, so an outline can't cross
 * itself; the wall beside it is carried along by a raised cosine that ends at `reach` vertices away:
 *
 *     Δr(k) = ½ (1 + cos(π k / reach)) · Δr(0)        k vertices away, |k| < reach
 *
 * Frame     s, d in mm on the plane (@ebbline/imaging plane-set)
 * Domain    1 mm from the centre to 200 mm, never behind the apex (d ≥ 0); what is asked for beyond is held at the limit
 * Classes   a hand makes a seen or faint wall surer and a guessed one faint; what lies in shadow stays in shadow, since
 *           nobody sees it; past the edge of the picture it is "cut", whoever put it there
 * Source    standard deviations made here (S-imaging-tuning)
 */
import { isRefusal, type Refusal } from '@ebbline/core/quantity';
import type { OutlineVertex, PlaneOutline, VertexClass } from '@ebbline/imaging';
import { outsideSectorMm, type PlaneFrame, type PlanePoint } from './plane-frame.ts';
import { starCentre } from './star-centre.ts';

export interface EditableOutline extends PlaneOutline {
  readonly centre: PlanePoint;
}

const leastRadiusMm = 1;
const mostRadiusMm = 200;
/** Standard deviation of a wall by how it was seen, once a hand has placed it, mm. */
const handSdMm: Readonly<Record<VertexClass, number>> = {
  seen: 1.5,
  weak: 2.2,
  inferred: 4,
  cut: 5,
  shadow: 5,
};
/** Carried at least half as far as the point itself counts as placed by the hand. */
const byHandFrom = 0.5;
/** A vertex this far across the edge of the sector has changed sides. */
const edgeMm = 1;

/** The outline with the centre it is moved about, or why it can't be moved. */
export function editable(outline: PlaneOutline): EditableOutline | Refusal {
  const centre = starCentre(outline.vertices);
  return isRefusal(centre) ? centre : { ...outline, centre };
}

export const radiusMm = ({ centre }: EditableOutline, { sMm, dMm }: PlanePoint): number =>
  Math.hypot(sMm - centre.sMm, dMm - centre.dMm);

/** Which vertices carry a handle: `handles` of them, evenly spread; all of them when there are fewer. */
export function handlesOf(vertexCount: number, handles: number): readonly number[] {
  const count = Math.min(vertexCount, handles);
  return Array.from({ length: count }, (_, index) => Math.floor((index * vertexCount) / count));
}

function placed(
  outline: EditableOutline,
  vertex: OutlineVertex,
  wantedMm: number,
  frame: PlaneFrame,
  byHand: boolean,
): OutlineVertex {
  const { centre } = outline;
  const fromMm = radiusMm(outline, vertex);
  const alongS = (vertex.sMm - centre.sMm) / fromMm;
  const alongD = (vertex.dMm - centre.dMm) / fromMm;
  const toApexMm = alongD < 0 ? centre.dMm / -alongD : mostRadiusMm;
  const toMm = Math.max(leastRadiusMm, Math.min(wantedMm, mostRadiusMm, toApexMm));
  const point = { sMm: centre.sMm + toMm * alongS, dMm: centre.dMm + toMm * alongD };
  const outsideMm = outsideSectorMm(frame, point);
  const before = vertex.seenAs;
  const seenAs: VertexClass =
    outsideMm > edgeMm
      ? 'cut'
      : before === 'cut' && outsideMm < -edgeMm
        ? 'weak'
        : byHand && before === 'inferred'
          ? 'weak'
          : before;
  return {
    ...point,
    sdMm: byHand || seenAs !== before ? handSdMm[seenAs] : vertex.sdMm,
    seenAs,
    ...(byHand || vertex.byHand === true ? { byHand: true } : {}),
  };
}

/** One vertex moved to a distance from the centre, the wall beside it carried along. The input is not changed. */
export function moveAlongRay(
  outline: EditableOutline,
  index: number,
  toMm: number,
  reach: number,
  frame: PlaneFrame,
): EditableOutline {
  const count = outline.vertices.length;
  const moved = outline.vertices[index];
  if (!moved) return outline;
  const byMm = radiusMm(outline, placed(outline, moved, toMm, frame, true)) - radiusMm(outline, moved);
  const vertices = [...outline.vertices];
  const furthest = Math.min(Math.max(1, reach), Math.ceil(count / 2));
  for (let away = 1 - furthest; away < furthest; away += 1) {
    const at = (((index + away) % count) + count) % count;
    const vertex = outline.vertices[at];
    if (!vertex) continue;
    const share = (1 + Math.cos((Math.PI * away) / furthest)) / 2;
    vertices[at] = placed(
      outline,
      vertex,
      radiusMm(outline, vertex) + share * byMm,
      frame,
      share >= byHandFrom,
    );
  }
  return { ...outline, vertices };
}

/** How the wall was seen about one vertex, `reach` to each side, in a person's judgement. */
export function judgeWall(
  outline: EditableOutline,
  index: number,
  reach: number,
  seenAs: 'seen' | 'weak' | 'inferred',
): EditableOutline {
  const count = outline.vertices.length;
  return {
    ...outline,
    vertices: outline.vertices.map((vertex, at) => {
      const apart = Math.abs(at - index);
      if (Math.min(apart, count - apart) >= reach || vertex.seenAs === 'cut') return vertex;
      return { ...vertex, seenAs, sdMm: handSdMm[seenAs], byHand: true };
    }),
  };
}

/** Width of a first ellipse as a share of its length. Made here: a start to be moved, not a measure. */
const startShare = 0.75;
const startVertices = 96;

/**
 * An ellipse to start a hand-drawn outline from, by the two ends of its long diameter. Every vertex is drawn by guess
 * until a person has moved or judged it.
 */
export function ellipseBetween(
  plane: number,
  a: PlanePoint,
  b: PlanePoint,
  frame: PlaneFrame,
): EditableOutline {
  const centre = { sMm: (a.sMm + b.sMm) / 2, dMm: (a.dMm + b.dMm) / 2 };
  const longMm = Math.max(2 * leastRadiusMm, Math.hypot(b.sMm - a.sMm, b.dMm - a.dMm) / 2);
  const slope = Math.atan2(b.dMm - a.dMm, b.sMm - a.sMm);
  const start: EditableOutline = { plane, centre, vertices: [] };
  const vertices = Array.from({ length: startVertices }, (_, index): OutlineVertex => {
    const turn = (2 * Math.PI * index) / startVertices;
    const along = longMm * Math.cos(turn);
    const across = startShare * longMm * Math.sin(turn);
    const point = {
      sMm: centre.sMm + along * Math.cos(slope) - across * Math.sin(slope),
      dMm: centre.dMm + along * Math.sin(slope) + across * Math.cos(slope),
    };
    const guess: OutlineVertex = { ...point, sdMm: handSdMm.inferred, seenAs: 'inferred', byHand: true };
    return placed(start, guess, radiusMm(start, point), frame, false);
  });
  return { ...start, vertices };
}

/** The outline of another plane as a start for this one: same place, drawn by guess. */
export function copiedTo(plane: number, outline: EditableOutline): EditableOutline {
  return {
    ...outline,
    plane,
    vertices: outline.vertices.map(({ sMm, dMm, seenAs }) => ({
      sMm,
      dMm,
      seenAs: seenAs === 'cut' ? 'cut' : 'inferred',
      sdMm: handSdMm[seenAs === 'cut' ? 'cut' : 'inferred'],
      byHand: true,
    })),
  };
}
