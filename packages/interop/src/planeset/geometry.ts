/**
 * Reads `geometry.json` in the form `planeset-1`: scale, apex, sector, layout and pose of every plane.
 *
 * Frame     see @ebbline/imaging plane-set; poses may be left out, then they follow from angle or offset
 * Units     mm, degrees, pixels, each in the name of its field
 * Errors    planeset/not-json, planeset/format, planeset/layout-missing, planeset/scale-missing, planeset/scale-out-of-range,
 *           planeset/apex-missing, planeset/sector, planeset/planes, planeset/pose, planeset/file-name
 */
import type { Layout, PlanePose, PlaneSetGeometry, Vector } from '@ebbline/imaging';
import { controlIsOn, isRefusal, refuse, type Refusal } from '@ebbline/core/quantity';

export interface PlaneSetFile {
  readonly geometry: PlaneSetGeometry;
  /** Picture file of each plane; missing where the pictures come from elsewhere. */
  readonly files: readonly (string | undefined)[];
  readonly image?: { readonly width: number; readonly height: number };
}

const layouts: readonly Layout[] = [
  'rotational_fan',
  'two_orthogonal_planes',
  'tilt_sweep',
  'parallel_sweep',
];
const mostPlanes = 400;
const plainName = /^[A-Za-z0-9][A-Za-z0-9._-]{0,99}$/;

type Fields = Readonly<Record<string, unknown>>;
const asFields = (value: unknown): Fields | undefined =>
  typeof value === 'object' && value !== null && !Array.isArray(value) ? (value as Fields) : undefined;
const asNumber = (value: unknown): number | undefined =>
  typeof value === 'number' && Number.isFinite(value) ? value : undefined;

const bad = (code: string, found: string, allowed: string, todo: string, where?: string): Refusal =>
  refuse(`planeset/${code}`, {
    asked: 'Geometry of the planes',
    found,
    allowed,
    todo,
    ...(where === undefined ? {} : { where }),
  });

/** The geometry in a `geometry.json`, or what is missing in it. */
export function readGeometry(text: string): PlaneSetFile | Refusal {
  let parsed: unknown;
  try {
    parsed = JSON.parse(text);
  } catch {
    return bad(
      'not-json',
      'text that is not JSON',
      'one JSON object of the form planeset-1',
      'Export the set again.',
    );
  }
  const given = asFields(parsed);
  if (!given)
    return bad(
      'not-json',
      'JSON that is not an object',
      'one JSON object of the form planeset-1',
      'Export the set again.',
    );
  if (given['format'] !== 'planeset-1') {
    return bad(
      'format',
      'another format or none',
      '"format": "planeset-1"',
      'Export the set in this form.',
      'format',
    );
  }
  const layout = layouts.find((one) => one === given['layout']);
  if (!layout) {
    return bad(
      'layout-missing',
      given['layout'] === undefined ? 'no layout' : 'an unknown layout',
      layouts.join(', '),
      'Say how the planes lie to each other.',
      'layout',
    );
  }
  const scale = readScale(given);
  if (isRefusal(scale)) return scale;
  const apex = asFields(given['apex_px']);
  const apexX = asNumber(apex?.['x']);
  const apexY = asNumber(apex?.['y']);
  if (apexX === undefined || apexY === undefined || Math.abs(apexX) > 1e5 || Math.abs(apexY) > 1e5) {
    return bad(
      'apex-missing',
      'no apex of the beam fan',
      'apex_px with x and y in pixels',
      'Give the pixel where the beams meet.',
      'apex_px',
    );
  }
  const sector = readSector(given);
  if (isRefusal(sector)) return sector;
  const planes = readPlanes(given, layout);
  if (isRefusal(planes)) return planes;
  const calipers = asFields(given['calipers_mm']);
  const [width, length, depth] = [calipers?.['width'], calipers?.['length'], calipers?.['depth']].map(
    asNumber,
  );
  const image = asFields(given['image']);
  const [imageWidth, imageHeight] = [image?.['width'], image?.['height']].map(asNumber);
  return {
    geometry: {
      layout,
      mmPerPx: scale,
      apexPx: { x: apexX, y: apexY },
      sector,
      planes: planes.poses,
      ...(width !== undefined && length !== undefined && depth !== undefined
        ? { calipersMm: { width, length, depth } }
        : {}),
      ...(given['given_by_hand'] === true ? { givenByHand: true } : {}),
    },
    files: planes.files,
    ...(imageWidth !== undefined && imageHeight !== undefined
      ? { image: { width: imageWidth, height: imageHeight } }
      : {}),
  };
}

/** The picture names of a geometry that is not whole; unknown ones are left out. */
export function pictureNames(text: string): readonly (string | undefined)[] {
  let planes: unknown;
  try {
    planes = asFields(JSON.parse(text))?.['planes'];
  } catch {
    return [];
  }
  if (!Array.isArray(planes)) return [];
  return planes.slice(0, mostPlanes).map((one) => {
    const name = asFields(one)?.['file'];
    return typeof name === 'string' && plainName.test(name) ? name : undefined;
  });
}

function readScale(given: Fields): { x: number; y: number } | Refusal {
  const scale = asFields(given['mm_per_px']);
  const x = asNumber(scale?.['x']);
  const y = asNumber(scale?.['y']);
  if ((x === undefined || y === undefined) && controlIsOn('no-scale-no-volume')) {
    return bad(
      'scale-missing',
      'no size of a pixel',
      'mm_per_px with x and y',
      'Give the size of a pixel, or two points of known distance.',
      'mm_per_px',
    );
  }
  if (!((x ?? 1) >= 0.01 && (x ?? 1) <= 5 && (y ?? 1) >= 0.01 && (y ?? 1) <= 5)) {
    return bad(
      'scale-out-of-range',
      `${x} and ${y} mm`,
      'from 0.01 to 5 mm a pixel',
      'Check the unit: millimetres a pixel.',
      'mm_per_px',
    );
  }
  return { x: x ?? 1, y: y ?? 1 };
}

function readSector(given: Fields): { halfAngleDeg: number; rMinMm: number; rMaxMm: number } | Refusal {
  const sector = asFields(given['sector']);
  const halfAngleDeg = asNumber(sector?.['half_angle_deg']);
  const rMinMm = asNumber(sector?.['r_min_mm']);
  const rMaxMm = asNumber(sector?.['r_max_mm']);
  const fine =
    halfAngleDeg !== undefined &&
    rMinMm !== undefined &&
    rMaxMm !== undefined &&
    halfAngleDeg > 1 &&
    halfAngleDeg < 90 &&
    rMinMm >= 0 &&
    rMaxMm > rMinMm + 5 &&
    rMaxMm <= 1000;
  if (!fine) {
    return bad(
      'sector',
      'no sector, or one that can not be',
      'half_angle_deg above 1 and below 90, r_min_mm from 0, r_max_mm at least 5 more and at most 1000',
      'Give the sector of the picture.',
      'sector',
    );
  }
  return { halfAngleDeg, rMinMm, rMaxMm };
}

function readPlanes(
  given: Fields,
  layout: Layout,
): { poses: PlanePose[]; files: (string | undefined)[] } | Refusal {
  const list = given['planes'];
  if (
    !Array.isArray(list) ||
    list.length < 2 ||
    list.length > mostPlanes ||
    (layout === 'two_orthogonal_planes' && list.length !== 2)
  ) {
    return bad(
      'planes',
      Array.isArray(list) ? `${list.length} planes` : 'no planes',
      layout === 'two_orthogonal_planes' ? '2 planes' : `3 to ${mostPlanes} planes`,
      'Give every plane of the set.',
      'planes',
    );
  }
  const poses: PlanePose[] = [];
  const files: (string | undefined)[] = [];
  for (const [index, one] of list.entries()) {
    const where = `planes[${index}]`;
    const plane = asFields(one);
    const field =
      layout === 'rotational_fan' ? 'rotation_deg' : layout === 'tilt_sweep' ? 'tilt_deg' : 'offset_mm';
    const position = layout === 'two_orthogonal_planes' ? index * 90 : asNumber(plane?.[field]);
    if (!plane || position === undefined || Math.abs(position) > 1000) {
      return bad(
        'pose',
        `no ${field}`,
        `${field} of every plane`,
        'Give the angle or the offset of each plane.',
        where,
      );
    }
    const usual = poseOf(layout, position);
    const lateral = plane['lateral'] === undefined ? usual.lateral : asVector(plane['lateral']);
    const axial = plane['axial'] === undefined ? usual.axial : asVector(plane['axial']);
    const originMm = plane['origin'] === undefined ? usual.originMm : asVector(plane['origin']);
    const squareToEachOther =
      lateral &&
      axial &&
      originMm &&
      near(dot(lateral, lateral), 1) &&
      near(dot(axial, axial), 1) &&
      near(dot(lateral, axial), 0);
    if (!squareToEachOther) {
      return bad(
        'pose',
        'directions that are not of length 1 and at right angles',
        'lateral and axial of length 1, at right angles; origin in mm',
        'Check the pose of this plane.',
        where,
      );
    }
    const swept = layout === 'rotational_fan' || layout === 'tilt_sweep' || layout === 'parallel_sweep';
    if (swept && (dot(lateral, usual.lateral) < 0.98 || dot(axial, usual.axial) < 0.98)) {
      return bad(
        'pose',
        `directions that contradict ${field} ${position}`,
        'directions and angle that agree',
        'Check the pose of this plane.',
        where,
      );
    }
    const file = plane['file'];
    if (file !== undefined && (typeof file !== 'string' || !plainName.test(file))) {
      return bad(
        'file-name',
        'a picture name that is no plain file name',
        'letters, digits, dot, dash, underscore',
        'Keep the pictures beside geometry.json.',
        where,
      );
    }
    poses.push({ position, originMm, lateral, axial });
    files.push(file);
  }
  return { poses, files };
}

/** Pose of a plane from its angle or offset alone. */
export function poseOf(layout: Layout, position: number): PlanePose {
  const angle = (position * Math.PI) / 180;
  if (layout === 'parallel_sweep')
    return { position, originMm: [0, position, 0], lateral: [1, 0, 0], axial: [0, 0, 1] };
  if (layout === 'tilt_sweep') {
    return {
      position,
      originMm: [0, 0, 0],
      lateral: [1, 0, 0],
      axial: [0, Math.sin(angle), Math.cos(angle)],
    };
  }
  return { position, originMm: [0, 0, 0], lateral: [Math.cos(angle), Math.sin(angle), 0], axial: [0, 0, 1] };
}

const dot = (a: Vector, b: Vector): number => a[0] * b[0] + a[1] * b[1] + a[2] * b[2];
const near = (value: number, wanted: number): boolean => Math.abs(value - wanted) < 1e-3;

function asVector(value: unknown): Vector | undefined {
  if (!Array.isArray(value) || value.length !== 3) return undefined;
  const [x, y, z] = value.map(asNumber);
  return x === undefined || y === undefined || z === undefined ? undefined : [x, y, z];
}
