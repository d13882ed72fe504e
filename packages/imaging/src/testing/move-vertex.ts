/** One vertex moved as by a person, for tests and the bench; the screen has its own way of editing. */
import type { PlaneOutline } from '../outline.ts';

/** What a person's eye reaches on a clear wall, mm (made here). */
const handSdMm = 1.5;

/** The outline with one vertex moved by a person. The rest stays as it was; the input is not changed. */
export function moveVertex(outline: PlaneOutline, index: number, sMm: number, dMm: number): PlaneOutline {
  return {
    ...outline,
    vertices: outline.vertices.map((vertex, place) =>
      place === index
        ? { sMm, dMm, sdMm: handSdMm, seenAs: vertex.seenAs === 'cut' ? 'cut' : 'seen', byHand: true }
        : vertex,
    ),
  };
}
