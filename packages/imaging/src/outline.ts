/**
 * Outlines as the tracer and a person share them: plain values that can be posted to a worker, kept, and edited.
 *
 * Frame     s, d in mm on the plane (plane-set.ts), last vertex joined to the first
 */

/**
 * seen     a clear step from dark to bright
 * weak     a faint step
 * inferred no step; placed by smoothness and the other planes
 * cut      the region runs on past the edge of the picture; the vertex is a completion
 * shadow   in a beam that stays dark to its end
 */
export type VertexClass = 'seen' | 'weak' | 'inferred' | 'cut' | 'shadow';

export interface OutlineVertex {
  readonly sMm: number;
  readonly dMm: number;
  /** Standard deviation across the outline, mm. */
  readonly sdMm: number;
  readonly seenAs: VertexClass;
  /** True when a person placed it. */
  readonly byHand?: true;
}

export interface PlaneOutline {
  /** Index into the planes of the set. */
  readonly plane: number;
  readonly vertices: readonly OutlineVertex[];
}

/** The vertices as flat s, d pairs in mm. */
export function flatOutline(outline: PlaneOutline): Float64Array {
  const out = new Float64Array(outline.vertices.length * 2);
  for (const [index, vertex] of outline.vertices.entries()) {
    out[2 * index] = vertex.sMm;
    out[2 * index + 1] = vertex.dMm;
  }
  return out;
}
