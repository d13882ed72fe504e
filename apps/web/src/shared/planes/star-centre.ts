/**
 * The point that an outline is moved about: every vertex is in plain view from it, so that vertices that move along
 * their rays never make the outline cross itself.
 *
 * The middle of the area is taken where it sees all of the outline; else the middle of the part that does (the half-planes
 * of all edges, cut one after the other).
 *
 * Units     mm
 * Errors    planes/outline-folds, when no point sees the whole outline
 */
import { refuse, type Refusal } from '@ebbline/core/quantity';
import type { PlanePoint } from './plane-frame.ts';

/** How far from each edge's line the middle has to keep, mm; made here, so that rays do not run along an edge. */
const clearMm = 0.25;

const areaAndMiddle = (points: readonly PlanePoint[]): PlanePoint & { readonly areaMm2: number } => {
  let twice = 0;
  let s = 0;
  let d = 0;
  for (const [index, here] of points.entries()) {
    const next = points[(index + 1) % points.length] ?? here;
    const cross = here.sMm * next.dMm - next.sMm * here.dMm;
    twice += cross;
    s += (here.sMm + next.sMm) * cross;
    d += (here.dMm + next.dMm) * cross;
  }
  return { areaMm2: twice / 2, sMm: s / (3 * twice), dMm: d / (3 * twice) };
};

/** Distance of a point to the inner side of the edge from a to b, mm. */
const withinMm = (a: PlanePoint, b: PlanePoint, turn: number, point: PlanePoint): number => {
  const ds = b.sMm - a.sMm;
  const dd = b.dMm - a.dMm;
  const length = Math.hypot(ds, dd);
  return length === 0 ? Infinity : (turn * (ds * (point.dMm - a.dMm) - dd * (point.sMm - a.sMm))) / length;
};

export function starCentre(outline: readonly PlanePoint[]): PlanePoint | Refusal {
  const folds = refuse('planes/outline-folds', {
    asked: 'Outline',
    found: 'an outline that folds over itself',
    allowed: 'an outline whose every point is in plain view from one point inside',
    todo: 'Draw this plane anew: put an ellipse on it and move its points.',
  });
  const whole = areaAndMiddle(outline);
  if (outline.length < 3 || !(Math.abs(whole.areaMm2) > 1)) return folds;
  const turn = Math.sign(whole.areaMm2);
  const edges = outline.map((here, index) => [here, outline[(index + 1) % outline.length] ?? here] as const);
  if (edges.every(([a, b]) => withinMm(a, b, turn, whole) > clearMm)) {
    return { sMm: whole.sMm, dMm: whole.dMm };
  }
  const reach = outline.flatMap((one) => [Math.abs(one.sMm), Math.abs(one.dMm)]);
  const far = Math.max(...reach) + 1;
  let view: readonly PlanePoint[] = [
    { sMm: -far, dMm: -far },
    { sMm: far, dMm: -far },
    { sMm: far, dMm: far },
    { sMm: -far, dMm: far },
  ];
  for (const [a, b] of edges) {
    const kept: PlanePoint[] = [];
    for (const [index, here] of view.entries()) {
      const next = view[(index + 1) % view.length] ?? here;
      const [inHere, inNext] = [withinMm(a, b, turn, here), withinMm(a, b, turn, next)];
      if (inHere >= 0) kept.push(here);
      if (inHere >= 0 !== inNext >= 0 && Number.isFinite(inHere - inNext)) {
        const share = inHere / (inHere - inNext);
        kept.push({
          sMm: here.sMm + share * (next.sMm - here.sMm),
          dMm: here.dMm + share * (next.dMm - here.dMm),
        });
      }
    }
    view = kept;
  }
  const middle = view.length >= 3 ? areaAndMiddle(view) : undefined;
  if (!middle || !Number.isFinite(middle.sMm) || !edges.every(([a, b]) => withinMm(a, b, turn, middle) > 0))
    return folds;
  return { sMm: middle.sMm, dMm: middle.dMm };
}
