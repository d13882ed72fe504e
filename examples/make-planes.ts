/**
 * Makes examples/planes: nine turned planes of an ellipsoid of fluid in speckled tissue, 60 × 70 × 80 mm, whose
 * volume is a closed form: 4/3 π · 30 · 35 · 40 mm³ = 175.9 mL. No physics of a beam, and no person.
 *
 *     node examples/make-planes.ts
 */
import { writeFileSync } from 'node:fs';
import path from 'node:path';
import { encode } from 'fast-png';
import { bodyMl, phantom } from '../packages/imaging/src/testing/phantom.ts';

const folder = path.join(import.meta.dirname, 'planes');
const body = { centreMm: [4, -3, 75], halfMm: [30, 35, 40] } as const;
const set = phantom([body], { planes: 9, seed: 3, mmPerPx: { x: 0.7, y: 0.7 } });
const first = set.planes[0];
if (!first) throw new Error('the phantom has no plane');

const planes = set.planes.map((plane, index) => {
  const file = `plane_${String(index).padStart(2, '0')}.png`;
  writeFileSync(
    path.join(folder, file),
    encode({ width: plane.width, height: plane.height, data: plane.grey, channels: 1, depth: 8 }),
  );
  const pose = set.geometry.planes[index];
  if (!pose) throw new Error('a plane has no place');
  return {
    index,
    file,
    rotation_deg: pose.position,
    tilt_deg: 0,
    offset_mm: 0,
    origin: pose.originMm,
    lateral: pose.lateral,
    axial: pose.axial,
  };
});
const { sector, mmPerPx, apexPx } = set.geometry;
const geometry = {
  format: 'planeset-1',
  case: 'example',
  layout: 'rotational_fan',
  image: { width: first.width, height: first.height },
  mm_per_px: mmPerPx,
  apex_px: apexPx,
  sector: {
    half_angle_deg: sector.halfAngleDeg,
    r_min_mm: sector.rMinMm,
    r_max_mm: sector.rMaxMm,
    depth_mm: sector.rMaxMm - sector.rMinMm,
  },
  planes,
};
writeFileSync(path.join(folder, 'geometry.json'), `${JSON.stringify(geometry, null, 1)}\n`);
console.log(`wrote ${planes.length} planes; the body holds ${bodyMl(body).toFixed(1)} mL`);
