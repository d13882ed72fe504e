// A folder of planes for the browser tests: a dark ellipsoid in speckled grey, its volume a closed form. No physics.
import { encode } from 'fast-png';
import { seededRandom } from '@ebbline/core/quantity';

export interface DrawnFile {
  readonly name: string;
  readonly mimeType: string;
  readonly buffer: Buffer;
}

/** @param centreMm middle of the body; moved towards the feet (−y) it leaves the picture there */
export function drawnFolder(
  centreMm: readonly [number, number, number],
  halfMm: readonly [number, number, number],
): DrawnFile[] {
  const random = seededRandom(7);
  const planes = 12;
  const mmPerPx = 0.6;
  const sector = { half_angle_deg: 50, r_min_mm: 5, r_max_mm: 140 };
  const width = Math.ceil((2 * 140 * Math.sin((50 * Math.PI) / 180)) / mmPerPx) + 1;
  const height = Math.ceil(140 / mmPerPx) + 1;
  const apex = (width - 1) / 2;
  const files: DrawnFile[] = [];
  for (let plane = 0; plane < planes; plane += 1) {
    const turn = (Math.PI * plane) / planes;
    const data = new Uint8Array(width * height);
    for (let py = 0; py < height; py += 1) {
      for (let px = 0; px < width; px += 1) {
        const s = (px - apex) * mmPerPx;
        const d = py * mmPerPx;
        const r = Math.hypot(s, d);
        if (Math.abs(Math.atan2(s, d)) > (50 * Math.PI) / 180 || r < 5 || r > 140) continue;
        const q = Math.hypot(
          (s * Math.cos(turn) - centreMm[0]) / halfMm[0],
          (s * Math.sin(turn) - centreMm[1]) / halfMm[1],
          (d - centreMm[2]) / halfMm[2],
        );
        const insideMm = (1 - q) * Math.cbrt(halfMm[0] * halfMm[1] * halfMm[2]);
        const tissue = Math.max(0, Math.min(1, 1 - insideMm / 3));
        data[py * width + px] = Math.max(1, Math.min(255, 110 * (1 + 0.22 * random.normal()) * tissue));
      }
    }
    files.push({
      name: `plane_${plane}.png`,
      mimeType: 'image/png',
      buffer: Buffer.from(encode({ width, height, channels: 1, depth: 8, data })),
    });
  }
  const geometry = {
    format: 'planeset-1',
    layout: 'rotational_fan',
    image: { width, height },
    mm_per_px: { x: mmPerPx, y: mmPerPx },
    apex_px: { x: apex, y: 0 },
    sector,
    planes: files.map(({ name }, index) => ({ index, file: name, rotation_deg: (180 * index) / planes })),
  };
  return [
    { name: 'geometry.json', mimeType: 'application/json', buffer: Buffer.from(JSON.stringify(geometry)) },
    ...files,
  ];
}
