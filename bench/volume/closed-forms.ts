/** How far true outlines are from a body's closed form, and what one moved vertex costs. */
import { traceBladder, volumeFromOutlines, type PlaneSet } from '../../packages/imaging/src/index.ts';
import { moveVertex } from '../../packages/imaging/src/testing/move-vertex.ts';
import { closedBodies, closedBodyOutlines } from '../../packages/imaging/src/testing/closed-bodies.ts';
import { geometryOf } from '../../packages/imaging/src/testing/ellipsoid-outlines.ts';
import { phantom } from '../../packages/simulate/src/phantoms/index.ts';
import { cpuMs, middle, say, tableText } from './table.ts';

/** Prints a table; false when a body is off by more than its aim, per cent. */
export function closedFormsBench(aims: { readonly smooth: number; readonly uneven: number }): boolean {
  const planes = [6, 8, 12] as const;
  let good = true;
  const rows = (['smooth', 'uneven'] as const).flatMap((kind) =>
    closedBodies[kind].map((body) => {
      const off = planes.map((count) => {
        const geometry = geometryOf('rotational_fan', count);
        const found = volumeFromOutlines(geometry, closedBodyOutlines(geometry, body));
        const perCent = 100 * Math.abs((found.volumeMl ?? Number.NaN) / body.volumeMl - 1);
        // The aim of uneven bodies is for 12 planes.
        const missed = (kind === 'smooth' || count === 12) && !(perCent <= aims[kind]);
        good &&= !missed;
        return `${perCent.toFixed(3)}${missed ? ' MISSED' : ''}`;
      });
      return [body.name, body.volumeMl.toFixed(1), ...off, aims[kind].toFixed(1)];
    }),
  );
  say(tableText(['body', 'mL', ...planes.map((count) => `${count} planes, off %`), 'aim %'], rows));
  return good;
}

/** Time of volume, interval and reasons after one moved vertex of a traced set of 12 planes. */
export function editingBench(
  readSet: PlaneSet | undefined,
  aim: { readonly ms: number; readonly moves: number },
): boolean {
  const set =
    readSet ??
    phantom(3, { layout: 'rotational_fan', planeCount: 12, volumeMl: 300, features: ['clear'] }).set;
  const traced = traceBladder(set);
  const first = traced.planes[0];
  if (!first || traced.planes.length !== 12) {
    say('  editing: the set of 12 planes was not traced on each; no time is told');
    return false;
  }
  let outlines = traced.planes;
  const tookMs: number[] = [];
  const tookCpuMs: number[] = [];
  for (let move = -5; move < aim.moves; move += 1) {
    const plane = (move + 12) % 12;
    const vertex = (7 * (move + 5)) % first.vertices.length;
    outlines = outlines.map((one, index) => {
      const at = one.vertices[vertex];
      return index === plane && at ? moveVertex(one, vertex, at.sMm + 0.4, at.dMm + 0.3) : one;
    });
    const [fromCpu, from] = [cpuMs(), performance.now()];
    volumeFromOutlines(set.geometry, outlines, traced.findings);
    // The first moves warm up.
    if (move < 0) continue;
    tookMs.push(performance.now() - from);
    tookCpuMs.push(cpuMs() - fromCpu);
  }
  const good = middle(tookCpuMs) <= aim.ms;
  say(
    `  one moved vertex of 12 planes: ${middle(tookCpuMs).toFixed(1)} ms of processor (median of ${aim.moves}; aim at most ${aim.ms}), ${middle(tookMs).toFixed(1)} ms on the clock, longest ${Math.max(...tookMs).toFixed(1)}${good ? '' : '  MISSED'}`,
  );
  return good;
}
