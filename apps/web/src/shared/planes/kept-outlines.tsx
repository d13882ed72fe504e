/**
 * The outlines that the record keeps of a reading from images: the program's thin, a person's by line pattern over it,
 * each plane on ground of its own at one scale. The pictures themselves are not kept.
 */
import type { ReactNode } from 'react';
import { isRefusal } from '@ebbline/core/quantity';
import { verticesKept, type ImageEvidence, type KeptOutline } from '@ebbline/core/record';
import type { PlaneOutline } from '@ebbline/imaging';
import { OutlineDrawing, OutlineKey } from './outline-drawing.tsx';
import type { PlaneFrame } from './plane-frame.ts';
import styles from './planes.module.css';

const drawable = (kept: KeptOutline | undefined): PlaneOutline | undefined => {
  if (!kept) return undefined;
  const vertices = verticesKept(kept);
  if (isRefusal(vertices)) return undefined;
  return {
    plane: kept.plane,
    vertices: vertices.map(({ sMm, dMm, seenAs, byHand }) => ({
      sMm,
      dMm,
      seenAs,
      sdMm: 0,
      ...(byHand ? { byHand: true as const } : {}),
    })),
  };
};

export function KeptOutlines({ evidence }: { readonly evidence: ImageEvidence }): ReactNode {
  const { program, person, rMaxMm, halfAngleDeg } = evidence;
  const all = [...(program?.outlines ?? []), ...(person?.outlines ?? [])];
  const planes = [...new Set(all.map((one) => one.plane))].sort((a, b) => a - b);
  if (planes.length === 0) return null;
  const reachMm = Math.max(
    60,
    ...all.flatMap((one) => one.pointsTenthMm.map((value) => Math.abs(value) / 10)),
  );
  const half = ((halfAngleDeg ?? 45) * Math.PI) / 180;
  const deepMm = rMaxMm ?? reachMm;
  const wideMm = Math.max(30, deepMm * Math.sin(half));
  const frame: PlaneFrame = {
    mmPerPx: { x: 1, y: 1 },
    apexPx: { x: 0, y: 0 },
    sector: { halfAngleDeg: halfAngleDeg ?? 45, rMinMm: 0, rMaxMm: deepMm },
  };
  const edge = `M0 0L${-wideMm} ${deepMm * Math.cos(half)}A${deepMm} ${deepMm} 0 0 0 ${wideMm} ${deepMm * Math.cos(half)}Z`;
  return (
    <div className={styles['kept']}>
      <ol className={styles['keptPlanes']} aria-label="Outlines kept">
        {planes.map((plane) => {
          const theirs = drawable(person?.outlines.find((one) => one.plane === plane));
          const machine = drawable(program?.outlines.find((one) => one.plane === plane));
          const words = theirs ? (machine ? 'both' : 'by hand') : 'program';
          return (
            <li key={plane}>
              <svg
                viewBox={`${-wideMm - 4} -4 ${2 * wideMm + 8} ${deepMm + 8}`}
                role="img"
                aria-label={`Plane ${plane + 1}, outline: ${words}`}
              >
                <path d={edge} fill="none" stroke="var(--rule)" strokeWidth={1} />
                {machine && theirs ? (
                  <OutlineDrawing outline={machine} frame={frame} unitsPerPx={1.2} faintly />
                ) : null}
                {(theirs ?? machine) ? (
                  <OutlineDrawing
                    outline={(theirs ?? machine) as PlaneOutline}
                    frame={frame}
                    unitsPerPx={1.2}
                  />
                ) : null}
              </svg>
              <span>
                <b>{plane + 1}</b> {words}
              </span>
            </li>
          );
        })}
      </ol>
      <OutlineKey compared={person && program ? 'the program’s outline' : undefined} />
    </div>
  );
}
