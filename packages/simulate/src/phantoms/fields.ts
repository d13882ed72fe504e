/**
 * Closed shapes as fields: near the surface a field is the distance to it in mm, negative inside. Shapes are put
 * together by union, intersection and difference with a rounded seam.
 *
 * Units     mm
 * Source    level-set modelling, quadric and rounded seam derived here (S-phantom-shapes)
 */
export type Field = (x: number, y: number, z: number) => number;

/** Half-axes of an egg: each side of each axis has its own. Volume = π/6 · (left+right) · (foot+head) · (front+back). */
export interface EggAxes {
  readonly leftMm: number;
  readonly rightMm: number;
  readonly footMm: number;
  readonly headMm: number;
  readonly frontMm: number;
  readonly backMm: number;
}

/** Eight eighths of ellipsoids that meet smoothly. Distance to first order, exact on the surface. */
export function egg(axes: EggAxes): Field {
  const { leftMm, rightMm, footMm, headMm, frontMm, backMm } = axes;
  const least = -Math.min(leftMm, rightMm, footMm, headMm, frontMm, backMm);
  return (x, y, z) => {
    const a = x < 0 ? leftMm : rightMm;
    const b = y < 0 ? footMm : headMm;
    const c = z < 0 ? frontMm : backMm;
    const u = x / a;
    const v = y / b;
    const w = z / c;
    const radius = Math.sqrt(u * u + v * v + w * w);
    if (radius < 1e-6) return least;
    const slope = Math.sqrt((u * u) / (a * a) + (v * v) / (b * b) + (w * w) / (c * c));
    return (radius * (radius - 1)) / slope;
  };
}

/** An ellipsoid about a centre. */
export function ellipsoid(
  centre: readonly [number, number, number],
  halfAxes: readonly [number, number, number],
): Field {
  const [a, b, c] = halfAxes;
  const body = egg({ leftMm: a, rightMm: a, footMm: b, headMm: b, frontMm: c, backMm: c });
  return moved(body, centre);
}

/** The half-space before a plane: negative where normal · p < offset. The normal has length 1. */
export function halfSpace(normal: readonly [number, number, number], offsetMm: number): Field {
  const [a, b, c] = normal;
  return (x, y, z) => a * x + b * y + c * z - offsetMm;
}

/** A round tube along a line of direction of length 1. */
export function tube(
  through: readonly [number, number, number],
  direction: readonly [number, number, number],
  radiusMm: number,
): Field {
  const [px, py, pz] = through;
  const [dx, dy, dz] = direction;
  return (x, y, z) => {
    const ux = x - px;
    const uy = y - py;
    const uz = z - pz;
    const along = ux * dx + uy * dy + uz * dz;
    return Math.sqrt(Math.max(0, ux * ux + uy * uy + uz * uz - along * along)) - radiusMm;
  };
}

/** The greater of two, with a rounded seam of the width given. */
export function roundedMax(a: number, b: number, seamMm: number): number {
  const overlap = Math.max(0, seamMm - Math.abs(a - b)) / seamMm;
  return Math.max(a, b) + 0.25 * seamMm * overlap * overlap;
}

export function intersection(one: Field, other: Field, seamMm: number): Field {
  return (x, y, z) => roundedMax(one(x, y, z), other(x, y, z), seamMm);
}

export function union(one: Field, other: Field, seamMm: number): Field {
  return (x, y, z) => -roundedMax(-one(x, y, z), -other(x, y, z), seamMm);
}

export function difference(one: Field, taken: Field, seamMm: number): Field {
  return (x, y, z) => roundedMax(one(x, y, z), -taken(x, y, z), seamMm);
}

export function moved(field: Field, by: readonly [number, number, number]): Field {
  const [dx, dy, dz] = by;
  return (x, y, z) => field(x - dx, y - dy, z - dz);
}

export function scaled(field: Field, factor: number): Field {
  return (x, y, z) => factor * field(x / factor, y / factor, z / factor);
}

/** Turned about the lateral axis: a positive angle brings the head end nearer to the skin. */
export function leaning(field: Field, angleDeg: number): Field {
  const cos = Math.cos((angleDeg * Math.PI) / 180);
  const sin = Math.sin((angleDeg * Math.PI) / 180);
  return (x, y, z) => field(x, cos * y - sin * z, sin * y + cos * z);
}

/** Turned about the depth axis. */
export function turned(field: Field, angleDeg: number): Field {
  const cos = Math.cos((angleDeg * Math.PI) / 180);
  const sin = Math.sin((angleDeg * Math.PI) / 180);
  return (x, y, z) => field(cos * x - sin * y, sin * x + cos * y, z);
}

/** A field shrunk (negative) or grown (positive) by a distance. */
export function grown(field: Field, byMm: number): Field {
  return (x, y, z) => field(x, y, z) - byMm;
}

/** The same field, which remembers the last point it was asked for. */
export function remembering(field: Field): Field {
  let lastX = Number.NaN;
  let lastY = 0;
  let lastZ = 0;
  let value = 0;
  return (x, y, z) => {
    if (x === lastX && y === lastY && z === lastZ) return value;
    lastX = x;
    lastY = y;
    lastZ = z;
    value = field(x, y, z);
    return value;
  };
}
