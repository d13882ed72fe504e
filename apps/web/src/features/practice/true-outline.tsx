/** The true outlines of a plane: a bold dashed line, told from a drawn one by its pattern. */
import type { ReactNode } from 'react';
import type { PracticeSet } from '@ebbline/simulate';
import { toPixel } from '../../shared/planes/plane-frame.ts';

export function TrueOutline({
  made,
  plane,
  unitsPerPx,
}: {
  readonly made: PracticeSet;
  readonly plane: number;
  readonly unitsPerPx: number;
}): ReactNode {
  const { geometry } = made.phantom.set;
  const path = (made.phantom.truth.outlines[plane] ?? [])
    .map(
      (outline) =>
        `M${outline
          .map(([sMm, dMm]) => {
            const { x, y } = toPixel(geometry, { sMm, dMm });
            return `${x.toFixed(1)} ${y.toFixed(1)}`;
          })
          .join('L')}Z`,
    )
    .join('');
  return (
    <g fill="none" data-true="">
      <path d={path} stroke="var(--well)" strokeWidth={5 * unitsPerPx} opacity={0.7} />
      <path
        d={path}
        stroke="var(--well-ink)"
        strokeWidth={2.5 * unitsPerPx}
        strokeDasharray={`${7 * unitsPerPx} ${5 * unitsPerPx}`}
      />
    </g>
  );
}

/** Its line in the key. */
export function TrueKey(): ReactNode {
  return (
    <li>
      <svg viewBox="0 0 50 20" aria-hidden="true">
        <path d="M0 10H50" stroke="var(--well-ink)" strokeWidth={2.5} strokeDasharray="7 5" />
      </svg>
      the true outline
    </li>
  );
}
