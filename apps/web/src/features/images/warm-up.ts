/**
 * A made-up set of planes, traced a few times when the worker starts, so that the first real set doesn't pay for the engine's
 * getting to know the tracer. Nothing of it is shown or kept.
 *
 * Units     mm
 */
import { traceBladder, type PlaneSet } from '@ebbline/imaging';

const width = 240;
const height = 200;
const planes = 6;
const rounds = 4;

function madeUpSet(): PlaneSet {
  const mmPerPx = { x: 0.8, y: 0.8 };
  const apexPx = { x: width / 2, y: 2 };
  return {
    geometry: {
      layout: 'rotational_fan',
      mmPerPx,
      apexPx,
      sector: { halfAngleDeg: 50, rMinMm: 6, rMaxMm: 150 },
      planes: Array.from({ length: planes }, (_, index) => {
        const turn = (Math.PI * index) / planes;
        return {
          position: (180 * index) / planes,
          originMm: [0, 0, 0] as const,
          lateral: [Math.cos(turn), Math.sin(turn), 0] as const,
          axial: [0, 0, 1] as const,
        };
      }),
    },
    planes: Array.from({ length: planes }, (_, plane) => {
      const grey = new Uint8Array(width * height);
      for (let place = 0; place < grey.length; place += 1) {
        const s = ((place % width) - apexPx.x) * mmPerPx.x;
        const d = (Math.floor(place / width) - apexPx.y) * mmPerPx.y;
        const inside = Math.hypot(s / 36, (d - 75) / 28);
        // A plain hash stands for speckle.
        const grain = (Math.imul(place + 1, 2654435761 + plane) >>> 24) / 255;
        grey[place] = inside < 1 ? 6 : Math.min(255, Math.round(70 + 70 * grain));
      }
      return { width, height, grey };
    }),
  };
}

export function warmUp(): void {
  const set = madeUpSet();
  for (let round = 0; round < rounds; round += 1) traceBladder(set);
}
