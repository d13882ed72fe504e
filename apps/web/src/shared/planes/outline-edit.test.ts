// Proves     a vertex moves along its ray and carries its neighbours smoothly; an outline never crosses itself; undo gives
//            back exactly what was there; classes follow what can be seen.
// Tolerance  1e-9 mm for points on rays, else exact.
import { describe, expect, it } from 'vitest';
import { isRefusal, orThrow, seededRandom } from '@ebbline/core/quantity';
import type { OutlineVertex, PlaneOutline, VertexClass } from '@ebbline/imaging';
import { backToProgram, change, isChanged, redo, startEditing, undecided, undo } from './edit-history.ts';
import {
  copiedTo,
  editable,
  ellipseBetween,
  handlesOf,
  judgeWall,
  moveAlongRay,
  radiusMm,
  type EditableOutline,
} from './outline-edit.ts';
import { outsideSectorMm, toPixel, toPlane, type PlaneFrame, type PlanePoint } from './plane-frame.ts';
import { starCentre } from './star-centre.ts';

const frame: PlaneFrame = {
  mmPerPx: { x: 0.5, y: 0.7 },
  apexPx: { x: 120, y: -4 },
  sector: { halfAngleDeg: 45, rMinMm: 5, rMaxMm: 150 },
};

function wavy(count = 96, seenAs: VertexClass = 'seen'): PlaneOutline {
  const random = seededRandom(7);
  return {
    plane: 2,
    vertices: Array.from({ length: count }, (_, index): OutlineVertex => {
      const turn = (2 * Math.PI * index) / count;
      const radius = 26 + 6 * Math.cos(3 * turn) + 2 * random.next();
      return { sMm: 4 + radius * Math.cos(turn), dMm: 75 + radius * Math.sin(turn), sdMm: 1, seenAs };
    }),
  };
}
const start = (seenAs?: VertexClass): EditableOutline => orThrow(editable(wavy(96, seenAs)));

/** Angle of a vertex about the centre, radians. */
const angle = ({ centre }: EditableOutline, point: PlanePoint): number =>
  Math.atan2(point.dMm - centre.dMm, point.sMm - centre.sMm);
const apart = (a: number, b: number): number => Math.abs(Math.atan2(Math.sin(a - b), Math.cos(a - b)));

function crossesItself(points: readonly PlanePoint[]): boolean {
  const side = (a: PlanePoint, b: PlanePoint, c: PlanePoint): number =>
    Math.sign((b.sMm - a.sMm) * (c.dMm - a.dMm) - (b.dMm - a.dMm) * (c.sMm - a.sMm));
  const count = points.length;
  const at = (index: number): PlanePoint => points[index % count] as PlanePoint;
  for (let i = 0; i < count; i += 1) {
    for (let j = i + 2; j < count; j += 1) {
      if (i === 0 && j === count - 1) continue;
      const [a, b, c, d] = [at(i), at(i + 1), at(j), at(j + 1)];
      if (side(a, b, c) !== side(a, b, d) && side(c, d, a) !== side(c, d, b)) return true;
    }
  }
  return false;
}

describe('moving a point of an outline', () => {
  it('keeps every vertex on its own ray from the centre', () => {
    const before = start();
    const after = moveAlongRay(before, 10, 41, 8, frame);
    expect(radiusMm(after, after.vertices[10] as OutlineVertex)).toBeCloseTo(41, 9);
    for (const [index, vertex] of after.vertices.entries()) {
      expect(
        apart(angle(after, vertex), angle(before, before.vertices[index] as OutlineVertex)),
      ).toBeLessThan(1e-9);
    }
  });

  it('carries the wall beside it by a raised cosine that ends at its reach', () => {
    const before = start();
    const grow = (after: EditableOutline, index: number): number =>
      radiusMm(after, after.vertices[index] as OutlineVertex) -
      radiusMm(before, before.vertices[index] as OutlineVertex);
    const wanted = radiusMm(before, before.vertices[2] as OutlineVertex) + 6;
    const after = moveAlongRay(before, 2, wanted, 6, frame);
    for (let away = -8; away <= 8; away += 1) {
      const share = Math.abs(away) < 6 ? (1 + Math.cos((Math.PI * away) / 6)) / 2 : 0;
      expect(grow(after, (2 + away + 96) % 96)).toBeCloseTo(6 * share, 9);
    }
  });

  it('never makes the outline cross itself, whatever 300 moves are made', () => {
    const random = seededRandom(11);
    let outline = start();
    for (let move = 0; move < 300; move += 1) {
      const index = Math.floor(96 * random.next());
      outline = moveAlongRay(
        outline,
        index,
        90 * random.next() - 5,
        1 + Math.floor(14 * random.next()),
        frame,
      );
    }
    expect(crossesItself(outline.vertices)).toBe(false);
    expect(outline.vertices.every((one) => one.dMm >= -1e-9)).toBe(true);
  });

  it('is held 1 mm from the centre and never goes behind the apex', () => {
    const inward = moveAlongRay(start(), 0, -20, 1, frame);
    expect(radiusMm(inward, inward.vertices[0] as OutlineVertex)).toBeCloseTo(1, 9);
    const up = moveAlongRay(start(), 72, 190, 1, frame);
    expect((up.vertices[72] as OutlineVertex).dMm).toBeGreaterThanOrEqual(-1e-9);
  });

  it('leaves the outline it was given as it was', () => {
    const before = start();
    const copy = structuredClone(before);
    moveAlongRay(before, 3, 50, 8, frame);
    expect(before).toEqual(copy);
  });

  it('is "by hand", but a wall in shadow stays in shadow and as unsure', () => {
    const shadow = moveAlongRay(start('shadow'), 5, 30, 4, frame).vertices[5];
    expect(shadow).toMatchObject({ seenAs: 'shadow', sdMm: 5, byHand: true });
    expect(moveAlongRay(start('inferred'), 5, 30, 4, frame).vertices[5]).toMatchObject({
      seenAs: 'weak',
      byHand: true,
    });
    expect(moveAlongRay(start('seen'), 5, 30, 4, frame).vertices[40]).not.toHaveProperty('byHand');
  });

  it('past the edge of the picture makes it cut, and back inside no longer', () => {
    const before = start();
    const out = moveAlongRay(before, 0, 110, 1, frame);
    expect(out.vertices[0]?.seenAs).toBe('cut');
    expect(moveAlongRay(out, 0, 30, 1, frame).vertices[0]?.seenAs).toBe('weak');
  });
});

describe('a person’s judgement of the wall', () => {
  it('counts for the stretch about the point and not for what the picture cuts', () => {
    const cut = moveAlongRay(start('weak'), 1, 110, 1, frame);
    const judged = judgeWall(cut, 0, 3, 'seen');
    expect(judged.vertices.slice(0, 5).map((one) => one.seenAs)).toEqual([
      'seen',
      'cut',
      'seen',
      'weak',
      'weak',
    ]);
    expect(judged.vertices[94]?.seenAs).toBe('seen');
    expect(judged.vertices[93]?.seenAs).toBe('weak');
  });
});

describe('an outline started by hand', () => {
  it('is an ellipse between two ends, three quarters as wide, all drawn by guess', () => {
    const ellipse = ellipseBetween(1, { sMm: -20, dMm: 60 }, { sMm: 20, dMm: 60 }, frame);
    expect(ellipse.vertices[0]).toMatchObject({ sMm: 20, dMm: 60, seenAs: 'inferred', byHand: true });
    expect(ellipse.vertices[24]?.sMm).toBeCloseTo(0, 9);
    expect(ellipse.vertices[24]?.dMm).toBeCloseTo(75, 9);
    expect(isRefusal(starCentre(ellipse.vertices))).toBe(false);
  });

  it('can be taken over from another plane, as a guess', () => {
    const copy = copiedTo(5, start());
    expect(copy.plane).toBe(5);
    expect(copy.vertices.every((one) => one.seenAs === 'inferred' && one.byHand === true)).toBe(true);
  });
});

describe('the centre of an outline', () => {
  it('sees every edge of an outline whose middle of area does not', () => {
    const boomerang: readonly PlanePoint[] = [
      { sMm: 0, dMm: 50 },
      { sMm: 40, dMm: 20 },
      { sMm: 6, dMm: 50 },
      { sMm: 40, dMm: 80 },
    ];
    const centre = orThrow(starCentre(boomerang));
    expect(centre.sMm).toBeGreaterThan(0);
    expect(centre.sMm).toBeLessThan(6);
  });

  it('is refused for a figure of eight', () => {
    const eight = [
      { sMm: 0, dMm: 0 },
      { sMm: 30, dMm: 40 },
      { sMm: 30, dMm: 0 },
      { sMm: 0, dMm: 41 },
    ];
    expect(starCentre(eight)).toMatchObject({ code: 'planes/outline-folds' });
  });
});

describe('steps', () => {
  it('are undone to exactly what was there and done again to exactly what was', () => {
    const first = startEditing(4, [wavy()], true);
    const outline = first.now[2] as EditableOutline;
    const moved = change(first, 2, moveAlongRay(outline, 8, 44, 8, frame));
    const twice = change(moved, 1, ellipseBetween(1, { sMm: 0, dMm: 40 }, { sMm: 0, dMm: 90 }, frame));
    expect(undo(undo(twice)).now).toBe(first.now);
    expect(redo(redo(undo(undo(twice)))).now).toBe(twice.now);
    expect(undo(first)).toBe(first);
  });

  it('are gone once another way was taken', () => {
    const first = startEditing(4, [wavy()], true);
    const back = undo(change(first, 2, 'none-here'));
    const other = change(back, 0, 'none-here');
    expect(other).toBe(back);
    expect(redo(change(back, 2, undefined)).now[2]).toBeUndefined();
  });

  it('go back to the program’s outline on one plane or on all, which can itself be undone', () => {
    const first = startEditing(4, [wavy()], true);
    const changed = change(change(first, 2, 'none-here'), 3, undefined);
    expect(backToProgram(changed, 2).now).toEqual([...first.machine.slice(0, 3), undefined]);
    expect(isChanged(backToProgram(changed, 2), 3)).toBe(true);
    expect(backToProgram(changed).now).toEqual(first.machine);
    expect(undo(backToProgram(changed)).now).toBe(changed.now);
  });

  it('ask for every plane where the program has not looked', () => {
    expect(undecided(startEditing(4, [wavy()], true).now)).toEqual([]);
    expect(undecided(startEditing(4, [], false).now)).toEqual([0, 1, 2, 3]);
  });
});

describe('the picture and the plane', () => {
  it('give back the same point', () => {
    const point = { sMm: 13.2, dMm: 71.9 };
    const back = toPlane(frame, toPixel(frame, point));
    expect(back.sMm).toBeCloseTo(point.sMm, 9);
    expect(back.dMm).toBeCloseTo(point.dMm, 9);
  });

  it('know how far a point is outside the beams', () => {
    expect(outsideSectorMm(frame, { sMm: 0, dMm: 160 })).toBeCloseTo(10, 9);
    expect(outsideSectorMm(frame, { sMm: 0, dMm: 100 })).toBeLessThan(-40);
    expect(outsideSectorMm(frame, { sMm: 60, dMm: 60 / Math.tan((50 * Math.PI) / 180) })).toBeCloseTo(
      (60 / Math.sin((50 * Math.PI) / 180)) * Math.sin((5 * Math.PI) / 180),
      9,
    );
  });

  it('spread handles evenly and never twice on one vertex', () => {
    expect(handlesOf(96, 24)).toEqual(Array.from({ length: 24 }, (_, index) => 4 * index));
    expect(new Set(handlesOf(10, 24)).size).toBe(10);
  });
});
