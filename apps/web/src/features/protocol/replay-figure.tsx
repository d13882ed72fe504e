/**
 * How far the draft moves each figure, with its 95 % interval, as a share of what it is in force: one scale for counts,
 * hours and millilitres. The same stands in the tables above it.
 */
import type { ReactNode } from 'react';
import { scaleLinear } from 'd3-scale';
import type { MeanInterval } from '@ebbline/core/statistics';
import styles from './replay.module.css';

export interface FigureLine {
  readonly part: string;
  readonly title: string;
  readonly percent: MeanInterval | undefined;
}

const width = 640;
const left = 250;
const right = 20;
const top = 26;
const lineHeight = 26;
const bottom = 44;

const signedPercent = (value: number): string => {
  const rounded = Math.round(value);
  return rounded === 0 ? '0 %' : `${rounded < 0 ? '−' : '+'}${Math.abs(rounded)} %`;
};

export function ReplayFigure({ lines }: { readonly lines: readonly FigureLine[] }): ReactNode {
  const bounds = lines.flatMap(({ percent }) =>
    percent === undefined ? [] : [Math.abs(percent.low), Math.abs(percent.high)],
  );
  const reach = Math.max(10, ...bounds);
  const x = scaleLinear([-reach, reach], [left, width - right]).nice();
  const parts = [...new Set(lines.map((one) => one.part))];
  const placed: { readonly line: FigureLine; readonly y: number }[] = [];
  const heads: { readonly part: string; readonly y: number }[] = [];
  let y = top;
  for (const part of parts) {
    heads.push({ part, y });
    y += lineHeight;
    for (const line of lines.filter((one) => one.part === part)) {
      placed.push({ line, y });
      y += lineHeight;
    }
  }
  const height = y + bottom;
  const described = placed
    .map(({ line }) =>
      line.percent === undefined
        ? `${line.part}, ${line.title}: none in force`
        : `${line.part}, ${line.title}: ${signedPercent(line.percent.mean)}, ${signedPercent(line.percent.low)} to ${signedPercent(line.percent.high)}`,
    )
    .join('; ');
  return (
    <svg
      viewBox={`0 0 ${width} ${height}`}
      className={styles['plot']}
      role="img"
      aria-label={`Draft against the protocol in force, percent of each figure, with 95 % intervals. ${described}. The tables hold the same.`}
    >
      {x.ticks(6).map((tick) => (
        <g key={tick}>
          <line
            x1={x(tick)}
            x2={x(tick)}
            y1={top - 10}
            y2={y - 8}
            className={tick === 0 ? styles['zero'] : styles['guide']}
          />
          <text x={x(tick)} y={y + 10} textAnchor="middle">
            {signedPercent(tick)}
          </text>
        </g>
      ))}
      <text x={(left + width - right) / 2} y={y + 32} textAnchor="middle">
        draft less in force, percent of in force
      </text>
      {heads.map((head) => (
        <text key={head.part} x={0} y={head.y + 4} className={styles['part']}>
          {head.part}
        </text>
      ))}
      {placed.map(({ line, y: at }) => (
        <g key={`${line.part}/${line.title}`}>
          <text x={left - 12} y={at + 4} textAnchor="end">
            {line.title}
          </text>
          {line.percent === undefined ? (
            <text x={x(0) + 8} y={at + 4} className={styles['quiet']}>
              none in force
            </text>
          ) : (
            <>
              <line
                x1={x(line.percent.low)}
                x2={x(line.percent.high)}
                y1={at}
                y2={at}
                className={styles['range']}
              />
              <path
                d={`M${x(line.percent.low)} ${at - 5}v10M${x(line.percent.high)} ${at - 5}v10`}
                className={styles['end']}
              />
              <circle cx={x(line.percent.mean)} cy={at} r="4.5" className={styles['middle']} />
            </>
          )}
        </g>
      ))}
    </svg>
  );
}
