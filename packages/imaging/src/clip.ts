/**
 * The part of a polygon inside the sector of the beams.
 *
 * Frame     flat s, d pairs in mm from the apex
 * Domain    half angle below 90 degrees. The wedge is cut exactly; the far and near arcs by moving vertices along their
 *           beams, which for outlines with a vertex every few mm errs by far less than a pixel.
 */
export function clipToSector(
  polygon: Float64Array,
  sector: { readonly halfAngleDeg: number; readonly rMinMm: number; readonly rMaxMm: number },
): Float64Array {
  const half = (Math.min(89.9, sector.halfAngleDeg) * Math.PI) / 180;
  const right = cutHalfPlane(polygon, -Math.cos(half), Math.sin(half));
  const both = cutHalfPlane(right, Math.cos(half), Math.sin(half));
  for (let index = 0; index < both.length; index += 2) {
    const s = both[index] as number;
    const d = both[index + 1] as number;
    const r = Math.hypot(s, d);
    const kept = Math.min(sector.rMaxMm, Math.max(sector.rMinMm, r));
    if (r > 0 && kept !== r) {
      both[index] = (s * kept) / r;
      both[index + 1] = (d * kept) / r;
    }
  }
  return both;
}

/** The part where a·s + b·d ≥ 0. */
function cutHalfPlane(polygon: Float64Array, a: number, b: number): Float64Array {
  const out: number[] = [];
  const length = polygon.length;
  for (let index = 0, before = length - 2; index < length; before = index, index += 2) {
    const s0 = polygon[before] as number;
    const d0 = polygon[before + 1] as number;
    const s1 = polygon[index] as number;
    const d1 = polygon[index + 1] as number;
    const side0 = a * s0 + b * d0;
    const side1 = a * s1 + b * d1;
    if (side0 >= 0 !== side1 >= 0) {
      const share = side0 / (side0 - side1);
      out.push(s0 + share * (s1 - s0), d0 + share * (d1 - d0));
    }
    if (side1 >= 0) out.push(s1, d1);
  }
  return Float64Array.from(out);
}

/** The part of a polygon between two beams, angles in radians from the probe axis, less than π apart. */
export function clipToBeams(polygon: Float64Array, fromRad: number, toRad: number): Float64Array {
  // Right of the first beam, left of the second.
  const right = cutHalfPlane(polygon, Math.cos(fromRad), -Math.sin(fromRad));
  return cutHalfPlane(right, -Math.cos(toRad), Math.sin(toRad));
}
