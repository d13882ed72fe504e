/**
 * The fills of the map of steps: a tint by how soon a step brings a person, and on it a pattern of its own for each step,
 * so that no two steps are told apart by colour alone. Holes and double rows have fills that are no step's.
 */
import type { ReactNode } from 'react';
import { gentleness, type MapCell, type Step } from '@ebbline/protocol';

const tints = [
  'var(--paper-lift)',
  'var(--paper-lift)',
  'var(--deep-4)',
  'var(--deep-4)',
  'var(--deep-3)',
  'var(--deep-3)',
] as const;

/** Lines and dots on a square of so many pixels. */
const drawn: Readonly<
  Record<Step, { readonly size: number; readonly path?: string; readonly dot?: number }>
> = {
  'watch-can-end': { size: 14, dot: 1 },
  'look-again': { size: 8, dot: 1.2 },
  'promote-voiding': { size: 8, dot: 2.4 },
  'review-catheter': { size: 12, path: 'M2 6h8' },
  'remove-catheter': { size: 12, path: 'M6 2v8' },
  'measure-residual': { size: 10, path: 'M0 5h10' },
  'measure-again-now': { size: 5, path: 'M0 2.5h5' },
  'ask-and-examine': { size: 10, path: 'M5 0v10' },
  'check-catheter': { size: 12, path: 'M0 12L12 0M-3 3L3 -3M9 15L15 9' },
  'drain-in-out': { size: 6, path: 'M0 6L6 0M-1.5 1.5L1.5 -1.5M4.5 7.5L7.5 4.5' },
  'leave-catheter-and-plan': { size: 8, path: 'M0 0L8 8M-2 6L2 10M6 -2L10 2' },
  'examine-now': { size: 10, path: 'M0 5h10M5 0v10' },
  'call-clinician': { size: 5, path: 'M2.5 0v5' },
  emergency: { size: 8, path: 'M0 8L8 0M0 0L8 8' },
};
const idOf = (step: string): string => `map-fill-${step}`;

/** Put once beside the map; the cells and the legend point at them. */
export function StepFills(): ReactNode {
  return (
    <svg width="0" height="0" aria-hidden="true" focusable="false" style={{ position: 'absolute' }}>
      <defs>
        {Object.entries(drawn).map(([step, { size, path, dot }]) => (
          <pattern key={step} id={idOf(step)} width={size} height={size} patternUnits="userSpaceOnUse">
            <rect width={size} height={size} fill={tints[gentleness[step as Step]]} />
            {path === undefined ? null : (
              <path d={path} stroke="var(--ink-2)" strokeWidth="1.2" fill="none" />
            )}
            {dot === undefined ? null : <circle cx={size / 2} cy={size / 2} r={dot} fill="var(--ink-2)" />}
          </pattern>
        ))}
        <pattern id={idOf('overlap')} width="16" height="16" patternUnits="userSpaceOnUse">
          <rect width="16" height="16" fill="var(--paper)" />
          <rect width="8" height="8" fill="var(--ink-2)" />
          <rect x="8" y="8" width="8" height="8" fill="var(--ink-2)" />
        </pattern>
        <pattern id={idOf('unsafe')} width="12" height="12" patternUnits="userSpaceOnUse">
          <rect width="12" height="12" fill="var(--paper)" />
          <path d="M0 0L12 12M0 12L12 0" stroke="var(--ink)" strokeWidth="3" />
        </pattern>
      </defs>
    </svg>
  );
}

/** What fills a cell; a hole is left empty, with a broken edge. */
export function Fill({
  cell,
}: {
  readonly cell: Pick<MapCell, 'kind'> & { readonly step?: Step };
}): ReactNode {
  const fill = cell.kind === 'step' ? `url(#${idOf(cell.step ?? '')})` : `url(#${idOf(cell.kind)})`;
  return (
    <svg width="100%" height="100%" aria-hidden="true" focusable="false">
      {cell.kind === 'hole' ? (
        <rect
          x="3"
          y="3"
          width="calc(100% - 6px)"
          height="calc(100% - 6px)"
          fill="var(--paper)"
          stroke="var(--ink)"
          strokeWidth="3"
          strokeDasharray="8 5"
        />
      ) : (
        <rect width="100%" height="100%" fill={fill} />
      )}
    </svg>
  );
}
