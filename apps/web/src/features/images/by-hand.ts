/**
 * Scale, layout and sector that a person gives because the files have none, as the geometry of a plane set. It is marked
 * as given by hand, and every volume from it says so.
 *
 * Units     pixels, mm, degrees as named
 * Domain    a known length of 10 to 300 mm over at least 30 pixels; steps above 0 to 60
 * Errors    images/scale-not-said, images/length-out-of-range, images/points-too-near, images/layout-not-said,
 *           images/picture-count, images/step-out-of-range, images/sector-not-said
 * Source    limits made here (S-imaging-by-hand); a pixel is taken as square, as a picture without a scale gives no other
 */
import { isRefusal, refuse, type Refusal } from '@ebbline/core/quantity';
import type { Layout, PlanePose, PlaneSetGeometry } from '@ebbline/imaging';
import type { PixelPoint } from '../../shared/planes/plane-frame.ts';
import type { SectorPx } from './find-sector.ts';
import type { Pictures } from './pictures.ts';

export interface ByHand {
  readonly from?: PixelPoint;
  readonly to?: PixelPoint;
  readonly lengthMm?: number;
  readonly layout?: Layout;
  /** Degrees between turned or tilted planes, mm between shifted ones. */
  readonly step?: number;
  readonly sectorPx?: SectorPx;
}

export const layoutWords: readonly (readonly [Layout, string])[] = [
  ['rotational_fan', 'Turned about the probe'],
  ['tilt_sweep', 'Tilted, the probe held in one place'],
  ['parallel_sweep', 'Side by side, the probe moved along'],
  ['two_orthogonal_planes', 'Two planes: one across, one along the body'],
];

export const isMissing = ({
  geometry,
  known,
}: Pictures): { readonly scale: boolean; readonly layout: boolean } => ({
  scale: !geometry && known.mmPerPx === undefined,
  layout: !geometry && (known.layout === undefined || known.positions === undefined),
});

/** Steps that are suggested: equal turns over 180 degrees. A sweep has no usual step. */
export const suggestedStep = (layout: Layout, planes: number): number | undefined =>
  layout === 'rotational_fan' ? 180 / planes : layout === 'two_orthogonal_planes' ? 90 : undefined;

const leastPx = 30;
const [leastMm, mostMm] = [10, 300];

export function scaleByHand({ from, to, lengthMm }: ByHand): PlaneSetGeometry['mmPerPx'] | Refusal {
  const scale = {
    asked: 'Scale',
    allowed: 'two points of a known length, such as a stretch of the depth ruler',
  };
  if (!from || !to || lengthMm === undefined)
    return refuse('images/scale-not-said', {
      ...scale,
      found: from && to ? 'no length' : 'fewer than two points',
      todo:
        from && to
          ? 'Say how many millimetres lie between the two points.'
          : 'Tap both ends of a known length.',
    });
  if (!(lengthMm >= leastMm && lengthMm <= mostMm))
    return refuse('images/length-out-of-range', {
      ...scale,
      found: `${lengthMm} mm`,
      allowed: `${leastMm} to ${mostMm} mm`,
      todo: 'Check the unit: millimetres. Take a longer stretch of the ruler.',
    });
  const apartPx = Math.hypot(to.x - from.x, to.y - from.y);
  if (apartPx < leastPx)
    return refuse('images/points-too-near', {
      ...scale,
      found: `two points ${Math.round(apartPx)} pixels apart`,
      allowed: `at least ${leastPx} pixels`,
      todo: 'Take a longer stretch of the ruler: near points give a rough scale.',
    });
  return { x: lengthMm / apartPx, y: lengthMm / apartPx };
}

/** Where each plane lies: degrees or mm, ascending. */
export function positionsByHand({ layout, step }: ByHand, planes: number): readonly number[] | Refusal {
  if (!layout)
    return refuse('images/layout-not-said', {
      asked: 'Layout',
      found: 'no layout',
      allowed: layoutWords.map(([, words]) => words.toLowerCase()).join('; '),
      todo: 'Say how the planes lie to each other.',
    });
  const least = layout === 'two_orthogonal_planes' ? 2 : 3;
  if (planes < least || (layout === 'two_orthogonal_planes' && planes !== 2))
    return refuse('images/picture-count', {
      asked: 'Layout',
      found: planes === 1 ? '1 picture' : `${planes} pictures`,
      allowed: layout === 'two_orthogonal_planes' ? '2 pictures' : 'at least 3 pictures',
      todo: 'Choose another layout or all pictures, or measure three diameters instead.',
    });
  if (layout === 'two_orthogonal_planes') return [0, 90];
  const every = step ?? suggestedStep(layout, planes);
  const span = every === undefined ? NaN : every * (planes - 1);
  if (every === undefined || !(every > 0 && every <= 60) || (layout !== 'parallel_sweep' && !(span < 180)))
    return refuse('images/step-out-of-range', {
      asked: 'Step between planes',
      found: every === undefined ? 'no step' : `${every}`,
      allowed:
        layout === 'parallel_sweep' ? 'above 0 to 60 mm' : 'above 0 degrees, all planes within 180 degrees',
      todo: 'Look at the scanner for the step from plane to plane.',
    });
  const first = layout === 'rotational_fan' ? 0 : -span / 2;
  return Array.from({ length: planes }, (_, index) => first + index * every);
}

/** @param poseOf pose of a plane from layout and position (`@ebbline/interop/planeset`) */
export function geometryByHand(
  pictures: Pictures,
  byHand: ByHand,
  poseOf: (layout: Layout, position: number) => PlanePose,
): PlaneSetGeometry | Refusal {
  const { known, planes } = pictures;
  const mmPerPx = known.mmPerPx ?? scaleByHand(byHand);
  if (isRefusal(mmPerPx)) return mmPerPx;
  const layout = known.layout ?? byHand.layout;
  const positions =
    known.positions ?? positionsByHand({ ...byHand, ...(layout ? { layout } : {}) }, planes.length);
  if (isRefusal(positions)) return positions;
  if (!byHand.sectorPx || !layout)
    return refuse('images/sector-not-said', {
      asked: 'The fan of the beams',
      found: 'no fan',
      allowed: 'the fan found in the picture, or three points on its edges',
      todo: 'Tap three points: the upper end of the left edge, its lower end, the lower end of the right edge.',
    });
  const { apexPx, halfAngleDeg, rMinPx, rMaxPx } = byHand.sectorPx;
  // Where pixels are not square the fan's edges turn with them; depth is down, so ranges follow y.
  const turned = Math.atan(Math.tan((halfAngleDeg * Math.PI) / 180) * (mmPerPx.x / mmPerPx.y));
  return {
    layout,
    mmPerPx,
    apexPx,
    sector: {
      halfAngleDeg: (turned * 180) / Math.PI,
      rMinMm: rMinPx * mmPerPx.y,
      rMaxMm: rMaxPx * mmPerPx.y,
    },
    planes: positions.map((position) => poseOf(layout, position)),
    givenByHand: true,
  };
}
