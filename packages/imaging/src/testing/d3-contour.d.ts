/** The part of d3-contour that the tests and the bench use; it brings no types of its own. */
declare module 'd3-contour' {
  interface MultiPolygon {
    /** Polygons of rings of points; the first ring of a polygon is its border, the others are holes. */
    readonly coordinates: readonly (readonly (readonly (readonly [number, number])[])[])[];
  }
  interface Contours {
    size(size: readonly [number, number]): Contours;
    contour(values: ArrayLike<number>, level: number): MultiPolygon;
  }
  export function contours(): Contours;
}
