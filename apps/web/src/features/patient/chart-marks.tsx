/** The marks of the chart's grammar, one meaning each: what they mean stands in the key under the chart. */
import type { ReactNode } from 'react';
import type { ChartEvent } from './chart-input.ts';

/** Reading: open circle. */
export function ReadingMark({ x, y }: { readonly x: number; readonly y: number }): ReactNode {
  return <circle cx={x} cy={y} r={5.2} fill="var(--paper)" stroke="var(--ink)" strokeWidth={2.2} />;
}

/** At least: base line with an open roof; nothing on top, because nothing is known there. */
export function AtLeastMark({
  x,
  y,
  turned,
}: {
  readonly x: number;
  readonly y: number;
  readonly turned?: boolean;
}): ReactNode {
  return (
    <g transform={`translate(${x} ${y})${turned ? ' rotate(90)' : ''}`} fill="none" stroke="var(--ink)">
      <path d="M-9 0h18" strokeWidth={2.6} />
      <path d="M-7-5 0-12l7 7" strokeWidth={1.8} />
    </g>
  );
}

/** Passed or drained: an arrow away from the content. */
export function DropMark({
  x,
  fromY,
  toY,
  heavy,
}: {
  readonly x: number;
  readonly fromY: number;
  readonly toY: number;
  readonly heavy: boolean;
}): ReactNode {
  return (
    <g fill="none" stroke="var(--ink)" strokeWidth={heavy ? 3 : 2}>
      <path d={`M${x} ${fromY}V${toY}`} />
      <path d={`M${x - 5} ${toY - 7}L${x} ${toY}l5-7`} />
    </g>
  );
}

/** The same, lying: on the narrow chart content falls to the left. */
export function DropMarkLying({
  y,
  fromX,
  toX,
  heavy,
}: {
  readonly y: number;
  readonly fromX: number;
  readonly toX: number;
  readonly heavy: boolean;
}): ReactNode {
  return (
    <g fill="none" stroke="var(--ink)" strokeWidth={heavy ? 3 : 2}>
      <path d={`M${fromX} ${y}H${toX}`} />
      <path d={`M${toX + 7} ${y - 5}L${toX} ${y}l7 5`} />
    </g>
  );
}

/** The mark of an event in its row. Drawn about its instant, in a box 16 high. */
export function RowMark({
  mark,
  x,
  y,
}: {
  readonly mark: ChartEvent['mark'];
  readonly x: number;
  readonly y: number;
}): ReactNode {
  const thin = { fill: 'none', stroke: 'var(--ink)', strokeWidth: 1.8 } as const;
  switch (mark) {
    case 'reading':
      return <circle cx={x} cy={y} r={4.6} {...thin} />;
    case 'not-obtained':
      return <path d={`M${x - 4} ${y - 4}l8 8m0-8-8 8`} {...thin} />;
    case 'at-least':
      return <path d={`M${x - 7} ${y + 5}h14M${x - 5} ${y + 1}l5-5 5 5`} {...thin} />;
    case 'due':
    case 'missed':
      return <path d={`M${x} ${y + 8}v-15h12l-3.4 3.7 3.4 3.7h-12`} {...thin} />;
    case 'overdue':
      return <path d={`M${x - 0.8} ${y + 8}v-16h14l-4 4.4 4 4.4h-12.4v7.2z`} fill="var(--act-fill)" />;
    case 'passed':
    case 'drained':
      return (
        <path
          d={`M${x} ${y - 7}v12m-4-4.5 4 4.5 4-4.5`}
          {...thin}
          strokeWidth={mark === 'drained' ? 2.6 : 1.8}
        />
      );
    case 'intake':
      return <rect x={x - 2.5} y={y - 6} width={5} height={12} fill="var(--ink)" />;
    case 'catheter':
      return <path d={`M${x} ${y + 7}v-7m0 0a3.6 3.6 0 1 1 .01 0z`} {...thin} />;
  }
}
