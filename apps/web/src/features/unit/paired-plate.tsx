/**
 * Catheters avoided and late detections: one figure in two halves, on one scale. The plate takes the pair whole and
 * has no way to draw one half alone, because a ward can avoid catheters by not looking.
 */
import type { ReactNode } from 'react';
import type { UnitFigures } from '@ebbline/core/facts';
import { countRange, type Bucket } from './unit-view.ts';
import styles from './unit.module.css';

type Paired = UnitFigures['paired'];
type Half = keyof Paired;

const words: Readonly<Record<Half, { readonly title: string; readonly meaning: string }>> = {
  cathetersAvoided: { title: 'Catheters avoided', meaning: 'measured, and no catheter within 24 hours' },
  lateDetections: { title: 'Late detections', meaning: "first known volume above the person's limit" },
};
const halves: readonly Half[] = ['cathetersAvoided', 'lateDetections'];

function Buckets({
  buckets,
  half,
  top,
}: {
  readonly buckets: readonly Bucket[];
  readonly half: Half;
  readonly top: number;
}): ReactNode {
  const height = 150;
  const y = (count: number): number => 12 + height * (1 - count / top);
  const step = 100 / Math.max(1, buckets.length);
  const ticks = Array.from({ length: 5 }, (_, index) => Math.round((top * index) / 4));
  return (
    <svg
      width="100%"
      height={height + 44}
      role="img"
      aria-label={`${words[half].title} by week: ${buckets.map((one) => `${one.label} ${one.paired[half].count}`).join(', ')}`}
      className={styles['chart']}
    >
      {ticks.map((tick) => (
        <g key={tick}>
          <line x1="34" x2="100%" y1={y(tick)} y2={y(tick)} className={styles['guide']} />
          <text x="26" y={y(tick) + 4} textAnchor="end">
            {tick}
          </text>
        </g>
      ))}
      <svg x="40" y="0" width="calc(100% - 40px)" height={height + 44} overflow="visible">
        {buckets.map((one, index) => {
          const share = one.paired[half];
          const range = countRange(share);
          const middle = (index + 0.5) * step;
          return (
            <g key={one.label}>
              {range ? (
                <rect
                  x={`${middle - step * 0.14}%`}
                  width={`${step * 0.28}%`}
                  y={y(range.high)}
                  height={Math.max(1, y(range.low) - y(range.high))}
                  className={styles['range']}
                />
              ) : null}
              <line
                x1={`${middle - step * 0.22}%`}
                x2={`${middle + step * 0.22}%`}
                y1={y(share.count)}
                y2={y(share.count)}
                className={styles['likely']}
              />
              <text x={`${middle + step * 0.26}%`} y={y(share.count) + 5} className={styles['value']}>
                {share.count}
              </text>
              <text x={`${middle}%`} y={height + 34} textAnchor="middle">
                {one.label}
              </text>
            </g>
          );
        })}
      </svg>
    </svg>
  );
}

export function PairedPlate({
  paired,
  buckets,
  onOpen,
}: {
  readonly paired: Paired;
  readonly buckets: readonly Bucket[];
  readonly onOpen: (half: Half) => void;
}): ReactNode {
  const top = Math.max(
    4,
    ...buckets.flatMap((one) =>
      halves.map((half) => Math.ceil(countRange(one.paired[half])?.high ?? one.paired[half].count)),
    ),
  );
  const rounded = Math.ceil(top / 4) * 4;
  return (
    <section className={styles['paired']} aria-label="Catheters avoided and late detections">
      <div className={styles['halves']}>
        {halves.map((half) => {
          const share = paired[half];
          const range = countRange(share);
          return (
            <div key={half}>
              <h2>{words[half].title}</h2>
              <p className={styles['big']}>
                <button
                  type="button"
                  onClick={() => onOpen(half)}
                  aria-label={`${words[half].title}: ${share.count}. Show the entries behind it`}
                >
                  {share.count}
                </button>
                <span className="speak">
                  of {share.of} measured watches
                  {range
                    ? `, ${Math.round(range.low)} to ${Math.round(range.high)} with its 95 % interval`
                    : ''}
                  : {words[half].meaning}
                </span>
              </p>
              {buckets.length > 0 ? (
                <Buckets buckets={buckets} half={half} top={rounded} />
              ) : (
                <p className="quiet">Working out the weeks…</p>
              )}
            </div>
          );
        })}
      </div>
      <p className={styles['together']}>
        These two are never shown apart: a ward can avoid catheters by not looking. No nurse is ranked.
      </p>
    </section>
  );
}
