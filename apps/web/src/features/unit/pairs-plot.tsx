/**
 * Reading less drained, against the middle of both: how much this unit's readings can be trusted. Points with their
 * error bars (the filling between the two), one shape a scanner; the same stands in the table below.
 */
import type { ReactNode } from 'react';
import { scaleLinear } from 'd3-scale';
import type { LimitsOfAgreement } from '@ebbline/core/statistics';
import type { PairPoint } from './unit-view.ts';
import styles from './unit.module.css';

const width = 620;
const height = 330;
const left = 56;
const right = 96;
const bottom = 40;
const top = 12;

const shapes = ['circle', 'triangle', 'square', 'diamond'] as const;

function Point({
  shape,
  x,
  y,
}: {
  readonly shape: (typeof shapes)[number];
  readonly x: number;
  readonly y: number;
}): ReactNode {
  if (shape === 'circle') return <circle cx={x} cy={y} r="4.5" className={styles['point']} />;
  const path = {
    triangle: 'M0 -5.5 5 4.5 -5 4.5z',
    square: 'M-4 -4H4V4H-4z',
    diamond: 'M0 -5.5 5.5 0 0 5.5 -5.5 0z',
  }[shape];
  return (
    <path
      d={path}
      transform={`translate(${x} ${y})`}
      className={shape === 'triangle' ? styles['filled'] : styles['point']}
    />
  );
}

export function PairsPlot({
  points,
  agreement,
  scanners,
}: {
  readonly points: readonly PairPoint[];
  readonly agreement: LimitsOfAgreement | undefined;
  readonly scanners: readonly string[];
}): ReactNode {
  const reach = Math.max(
    200,
    ...points.map((point) => Math.max(Math.abs(point.differenceMl.low), Math.abs(point.differenceMl.high))),
    agreement ? Math.max(Math.abs(agreement.limits.low), Math.abs(agreement.limits.high)) : 0,
  );
  const y = scaleLinear([-reach, reach], [height - bottom, top]).nice();
  const x = scaleLinear(
    [0, Math.max(800, ...points.map((point) => point.meanMl))],
    [left, width - right],
  ).nice();
  const shapeOf = (scanner: string | undefined): (typeof shapes)[number] =>
    shapes[Math.max(0, scanners.indexOf(scanner ?? '')) % shapes.length] ?? 'circle';
  const signed = (value: number): string =>
    `${value > 0 ? '+' : value < 0 ? '−' : ''}${Math.abs(Math.round(value))}`;
  const level = (value: number, words: string, strong: boolean): ReactNode => (
    <g>
      <line
        x1={left}
        x2={width - right}
        y1={y(value)}
        y2={y(value)}
        className={strong ? styles['mean'] : styles['limit']}
      />
      <text x={width - right + 8} y={y(value) - 2} className={styles['note']}>
        {words}
      </text>
      <text x={width - right + 8} y={y(value) + 12} className={styles['value']}>
        {signed(value)}
      </text>
    </g>
  );
  return (
    <svg
      viewBox={`0 0 ${width} ${height}`}
      className={styles['plot']}
      role="img"
      aria-label={`Reading less drained for ${points.length} pairs, filling allowed for. The table below lists them.`}
    >
      {y.ticks(7).map((tick) => (
        <g key={tick}>
          <line
            x1={left}
            x2={width - right}
            y1={y(tick)}
            y2={y(tick)}
            className={tick === 0 ? styles['zero'] : styles['guide']}
          />
          <text x={left - 8} y={y(tick) + 4} textAnchor="end">
            {signed(tick)}
          </text>
        </g>
      ))}
      {x.ticks(6).map((tick) => (
        <text key={tick} x={x(tick)} y={height - bottom + 18} textAnchor="middle">
          {tick.toLocaleString('en-GB')}
        </text>
      ))}
      <text x={left + 6} y={top + 12} className={styles['note']}>
        read more than drained
      </text>
      <text x={left + 6} y={height - bottom - 6} className={styles['note']}>
        read less than drained
      </text>
      <text x={width - right} y={height - 6} textAnchor="end" className={styles['note']}>
        middle of reading and drained, mL
      </text>
      {agreement ? (
        <>
          <rect
            x={left}
            width={width - right - left}
            y={y(agreement.biasInterval.high)}
            height={Math.max(1, y(agreement.biasInterval.low) - y(agreement.biasInterval.high))}
            className={styles['range']}
          />
          {level(agreement.limits.high, 'upper limit', false)}
          {level(agreement.bias, 'mean', true)}
          {level(agreement.limits.low, 'lower limit', false)}
        </>
      ) : null}
      {points.map((point) => (
        <g key={point.pair.drainId}>
          <line
            x1={x(point.meanMl)}
            x2={x(point.meanMl)}
            y1={y(point.differenceMl.low)}
            y2={y(point.differenceMl.high)}
            className={styles['error']}
          />
          <Point shape={shapeOf(point.pair.scanner)} x={x(point.meanMl)} y={y(point.differenceMl.middle)} />
        </g>
      ))}
    </svg>
  );
}
