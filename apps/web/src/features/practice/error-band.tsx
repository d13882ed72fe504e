/**
 * The true outline, the drawn one and the band between them: plain where the drawn one lies too far out, hatched where
 * it lies too far in.
 */
import { useId, type ReactNode } from 'react';
import type { OutlineComparison, OutlineSample } from '@ebbline/imaging';
import { toPixel, type PlaneFrame } from '../../shared/planes/plane-frame.ts';

const point = (frame: PlaneFrame, sMm: number, dMm: number): string => {
  const { x, y } = toPixel(frame, { sMm, dMm });
  return `${x.toFixed(1)} ${y.toFixed(1)}`;
};

/** Every stretch between two neighbouring samples, as a small area between both outlines. */
function bandOf(frame: PlaneFrame, samples: readonly OutlineSample[], out: boolean): string {
  let path = '';
  for (const [index, here] of samples.entries()) {
    const next = samples[index + 1] ?? samples[0];
    if (!next || here.signedMm > 0 !== out) continue;
    // Another true outline of the same plane begins here.
    if (Math.hypot(next.sMm - here.sMm, next.dMm - here.dMm) > 4) continue;
    path += `M${point(frame, here.sMm, here.dMm)}L${point(frame, next.sMm, next.dMm)}L${point(frame, next.toSMm, next.toDMm)}L${point(frame, here.toSMm, here.toDMm)}Z`;
  }
  return path;
}

function Hatch({ id, unitsPerPx }: { readonly id: string; readonly unitsPerPx: number }): ReactNode {
  const size = 6 * unitsPerPx;
  return (
    <pattern id={id} width={size} height={size} patternUnits="userSpaceOnUse" patternTransform="rotate(45)">
      <path d={`M0 0V${size}`} stroke="var(--well-line)" strokeWidth={2 * unitsPerPx} />
    </pattern>
  );
}

export function ErrorBand({
  comparison,
  frame,
  unitsPerPx,
}: {
  readonly comparison: OutlineComparison;
  readonly frame: PlaneFrame;
  readonly unitsPerPx: number;
}): ReactNode {
  const id = useId();
  const { samples } = comparison;
  return (
    <g>
      <defs>
        <Hatch id={id} unitsPerPx={unitsPerPx} />
      </defs>
      <path d={bandOf(frame, samples, true)} fill="var(--well-line)" opacity={0.55} data-band="out" />
      <path d={bandOf(frame, samples, false)} fill={`url(#${id})`} data-band="in" />
    </g>
  );
}

/** What the band means. */
export function BandKey(): ReactNode {
  const id = useId();
  const box = { width: 48, height: 18, x: 1, y: 1, stroke: 'var(--well-ink)', strokeWidth: 1 };
  return (
    <>
      <li>
        <svg viewBox="0 0 50 20" aria-hidden="true">
          <rect {...box} fill="var(--well-line)" fillOpacity={0.55} />
        </svg>
        yours too far out
      </li>
      <li>
        <svg viewBox="0 0 50 20" aria-hidden="true">
          <defs>
            <Hatch id={id} unitsPerPx={1} />
          </defs>
          <rect {...box} fill={`url(#${id})`} />
        </svg>
        yours too far in
      </li>
    </>
  );
}
