/** Volume, interval and the person's own limit on one graduated edge. The words beside it say the same. */
import { whole } from '@ebbline/core/present';
import type { ReactNode } from 'react';
import type { VolumeResult } from '@ebbline/imaging';
import styles from './images.module.css';

const wide = 300;

export function IntervalBar({
  result,
  limitMl,
}: {
  readonly result: VolumeResult;
  readonly limitMl: number;
}): ReactNode {
  const { interval, volumeMl, answer } = result;
  if (!interval || volumeMl === undefined) return null;
  const most = Math.max(interval.hiMl, limitMl) * 1.1;
  const block = [10, 20, 50, 100, 200, 500].find((one) => most / one <= 12) ?? 1000;
  const end = Math.ceil(most / block) * block;
  const at = (ml: number): number => (wide * ml) / end;
  const blocks = Array.from({ length: end / block }, (_, index) => index);
  return (
    <svg className={styles['interval']} viewBox={`-4 0 ${wide + 12} 62`} aria-hidden="true">
      {answer === 'at-least' ? (
        <>
          <path d={`M${at(interval.loMl)} 14v20`} stroke="var(--deep)" strokeWidth={2} />
          <path
            d={[0, 7, 14, 21].map((x) => `M${at(interval.loMl) + x} 30l10 -12`).join('')}
            stroke="var(--deep)"
            strokeWidth={1.2}
          />
        </>
      ) : (
        <>
          <rect
            x={at(interval.loMl)}
            y={17}
            width={Math.max(1, at(interval.hiMl) - at(interval.loMl))}
            height={14}
            fill="var(--deep-3)"
            stroke="var(--deep-2)"
          />
          <path d={`M${at(volumeMl)} 13v22`} stroke="var(--deep)" strokeWidth={2} />
        </>
      )}
      <path d={`M${at(limitMl)} 8v32`} stroke="var(--ink)" strokeWidth={2} />
      <path d={`M${at(limitMl) - 5} 8h10`} stroke="var(--ink)" strokeWidth={2} />
      <text
        x={at(limitMl) + (limitMl > end / 2 ? -9 : 9)}
        y={13}
        fontSize={12}
        textAnchor={limitMl > end / 2 ? 'end' : 'start'}
      >
        limit {whole(limitMl)}
      </text>
      {blocks.map((index) => (
        <rect
          key={index}
          x={at(index * block)}
          y={40}
          width={at(block)}
          height={5}
          fill={index % 2 === 0 ? 'var(--ink)' : 'var(--paper-lift)'}
          stroke="var(--ink)"
          strokeWidth={0.75}
        />
      ))}
      {[0, Math.round(blocks.length / 2), blocks.length].map((index) => (
        <text
          key={index}
          x={at(index * block)}
          y={58}
          fontSize={11}
          textAnchor={index === 0 ? 'start' : index === blocks.length ? 'end' : 'middle'}
        >
          {index * block}
        </text>
      ))}
    </svg>
  );
}
