/**
 * A DICOM ultrasound image as a plane set for the tracer.
 *
 * The layout comes from a geometry that a person gives, else from our own words in the comment; there is no third way.
 * A given geometry stands in for what the file lacks and is marked as given by hand. Where the file has a scale of its
 * own or states a layout, the given one must agree; where the file contradicts itself, no given one settles it. Without
 * a given geometry the sector is read off the picture (`sector-of-picture.ts`).
 *
 * Units     mm, degrees, pixels
 * Errors    dicom/layout-missing, dicom/layout-frames, dicom/layout-contradictory, dicom/scale-given-differs,
 *           dicom/geometry-size, dicom/depth-runs-up, dicom/several-panes, dicom/sector-unclear, and the scale's own
 */
import type { PlaneSet, PlaneSetGeometry } from '@ebbline/imaging';
import { controlIsOn, isRefusal, refuse, type Refusal } from '@ebbline/core/quantity';
import { poseOf } from '../planeset/index.ts';
import type { StatedLayout } from './layout-comment.ts';
import type { UltrasoundImage } from './read.ts';
import { sectorOfPicture } from './sector-of-picture.ts';

/** Reasons to have no scale that a person cannot settle, since the file says two things at once. */
const selfContradictions = ['dicom/scale-contradictory', 'dicom/scale-spacing-differs'];

/** True when a person may give the scale that this image has none of for the reason stated. */
export const scaleCanBeGiven = (why: Refusal): boolean => !selfContradictions.includes(why.code);

const no = (code: string, found: string, allowed: string, todo: string): Refusal =>
  refuse(`dicom/${code}`, { asked: 'Volume from images', found, allowed, todo });
const wrongCount = (frames: number, planes: number): Refusal =>
  no(
    'layout-frames',
    `${frames} frames for ${planes} planes`,
    'one frame for each plane',
    'Give the geometry of this image.',
  );

/** `givenFor` is the size of picture that the given geometry was written for, if it says so. */
export function planeSetOfImage(
  image: UltrasoundImage,
  given?: PlaneSetGeometry,
  givenFor?: { readonly width: number; readonly height: number },
): PlaneSet | Refusal {
  const fault = given ? contradiction(image, given, givenFor) : undefined;
  if (fault) return fault;
  if (given) return { geometry: { ...given, givenByHand: true }, planes: image.frames };
  if (isRefusal(image.scale)) return image.scale;
  if (!image.layout) {
    return no(
      'layout-missing',
      'no layout of the planes',
      'a geometry file with the angle or offset of each plane',
      'Give the layout: --geometry FILE, or choose it from the list.',
    );
  }
  const { layout, positions } = image.layout;
  if (positions.length !== image.frames.length) return wrongCount(image.frames.length, positions.length);
  if (image.scale.depthRunsUp) {
    return no(
      'depth-runs-up',
      'a picture whose depth is said to grow upwards',
      'depth that grows downwards',
      'Export the picture upright, or give its geometry.',
    );
  }
  if (image.scale.panes > 1) {
    return no(
      'several-panes',
      'several ultrasound pictures beside each other in one frame',
      'one picture in each frame',
      'Export each picture by itself, or give the geometry of the one that is meant.',
    );
  }
  const sector = sectorOfPicture(image.frames, image.scale);
  if (isRefusal(sector)) return sector;
  return {
    geometry: {
      layout,
      mmPerPx: image.scale.mmPerPx,
      ...sector,
      planes: positions.map((position) => poseOf(layout, position)),
    },
    planes: image.frames,
  };
}

/** Where a given geometry does not belong to this image. */
function contradiction(
  image: UltrasoundImage,
  given: PlaneSetGeometry,
  givenFor: { readonly width: number; readonly height: number } | undefined,
): Refusal | undefined {
  const [first] = image.frames;
  if (given.planes.length !== image.frames.length)
    return wrongCount(image.frames.length, given.planes.length);
  if (givenFor && first && (givenFor.width !== first.width || givenFor.height !== first.height)) {
    return no(
      'geometry-size',
      `a geometry for ${givenFor.width} × ${givenFor.height}, a picture of ${first.width} × ${first.height}`,
      'a geometry for a picture of this size',
      'Check which geometry belongs to this image.',
    );
  }
  if (controlIsOn('scale-contradiction')) {
    if (isRefusal(image.scale)) {
      if (!scaleCanBeGiven(image.scale)) return image.scale;
    } else if (!sameScale(given.mmPerPx, image.scale.mmPerPx)) {
      return no(
        'scale-given-differs',
        'a given pixel size that differs from the calibrated one',
        'sizes that agree within 1 %',
        'Check which geometry belongs to this image.',
      );
    }
  }
  return image.layout && !sameLayout(given, image.layout)
    ? no(
        'layout-contradictory',
        'a given layout that differs from the one that the file states',
        'the same layout, angles and offsets',
        'Check which geometry belongs to this image.',
      )
    : undefined;
}

type PerAxis = PlaneSetGeometry['mmPerPx'];
const sameScale = (a: PerAxis, b: PerAxis): boolean =>
  Math.abs(a.x / b.x - 1) <= 0.01 && Math.abs(a.y / b.y - 1) <= 0.01;

/** Half a degree or half a millimetre is rounding; more is another layout. */
const sameLayout = (given: PlaneSetGeometry, stated: StatedLayout): boolean =>
  given.layout === stated.layout &&
  given.planes.every(({ position }, index) => Math.abs(position - (stated.positions[index] ?? 1e9)) <= 0.5);
