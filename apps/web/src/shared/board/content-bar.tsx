/**
 * What one bladder probably holds against this person's own limit, as a bar. Drawn in shares of its box, so that it
 * keeps its lines and words at every width.
 *
 * Units     mL, drawn on 0 to `scaleMl`; what lies beyond gets an arrow at the edge and its figure
 * Words     the same stands beside it in the row; the drawing names itself for those who listen
 */
import type { ReactNode } from 'react';
import type { BoardRow } from '@ebbline/core/present';
import styles from './content-bar.module.css';

export const scaleMl = 1000;

interface ContentBarProps {
  readonly bar: BoardRow['bar'];
  readonly limitMl: number;
  readonly likelyWhenDueMl?: number | undefined;
  /** Held at what it was while the watch is paused. */
  readonly held?: boolean;
}

const share = (volumeMl: number): number => Math.max(0, Math.min(100, (100 * volumeMl) / scaleMl));
const percent = (value: number): string => `${value.toFixed(2)}%`;
const figure = (volumeMl: number): string => Math.round(volumeMl).toLocaleString('en-GB');

function heard(bar: BoardRow['bar'], limitMl: number): string {
  const limit = `limit ${figure(limitMl)} mL`;
  if (bar.kind === 'band')
    return `probably between ${figure(bar.lowMl)} and ${figure(bar.highMl)} mL; ${limit}`;
  if (bar.kind === 'at-least') return `at least ${figure(bar.lowMl)} mL; ${limit}`;
  return `${bar.words}; ${limit}`;
}

/** A small shape at a share of the width; its own units are px. */
function At({
  x,
  y = '50%',
  children,
}: {
  readonly x: number;
  readonly y?: string;
  readonly children: ReactNode;
}): ReactNode {
  return (
    <svg x={percent(x)} y={y} overflow="visible" width="1" height="1">
      {children}
    </svg>
  );
}

function Band({
  bar,
  limitMl,
  held,
  likelyWhenDueMl,
}: {
  readonly bar: Extract<BoardRow['bar'], { kind: 'band' }>;
  readonly limitMl: number;
  readonly held: boolean;
  readonly likelyWhenDueMl: number | undefined;
}): ReactNode {
  const [low, innerLow, likely, innerHigh, high, limit] = [
    bar.lowMl,
    bar.innerLowMl,
    bar.likelyMl,
    bar.innerHighMl,
    bar.highMl,
    limitMl,
  ].map(share) as [number, number, number, number, number, number];
  const upTo = Math.min(high, Math.max(limit, low));
  const beyond = high > limit;
  const innerUpTo = Math.min(innerHigh, upTo);
  const labelLeft = low > 17;
  const right = Math.max(high, likely);
  // The words take about a fifth of the box; they step over a limit line that stands in their way.
  const labelAt = labelLeft ? low : limit > right && limit < right + 20 ? limit : right;
  // No room on either side: below the band, inside the box.
  const below = !labelLeft && labelAt > 80;
  const arrowTo = likelyWhenDueMl === undefined ? undefined : share(likelyWhenDueMl);
  return (
    <>
      {upTo > low ? (
        <rect
          x={percent(low)}
          y="36%"
          width={percent(upTo - low)}
          height="34%"
          className={held ? styles['held'] : styles['band']}
        />
      ) : null}
      {!held && innerUpTo > innerLow ? (
        <rect
          x={percent(innerLow)}
          y="36%"
          width={percent(innerUpTo - innerLow)}
          height="34%"
          className={styles['inner']}
        />
      ) : null}
      {beyond ? (
        <rect
          x={percent(Math.max(limit, low))}
          y="36%"
          width={percent(high - Math.max(limit, low))}
          height="34%"
          className={styles['over']}
        />
      ) : null}
      <line x1={percent(likely)} x2={percent(likely)} y1="30%" y2="76%" className={styles['likely']} />
      <text
        x={percent(below ? right : labelAt)}
        dx={labelLeft ? -7 : below ? 0 : 7}
        y={below ? '86%' : '53%'}
        textAnchor={labelLeft || below ? 'end' : 'start'}
        className={styles['words']}
      >
        {bar.words}
      </text>
      {bar.highMl > scaleMl ? (
        <At x={100}>
          <path d="M-9 -5 0 1 -9 7z" className={styles['solid']} />
        </At>
      ) : null}
      {arrowTo !== undefined && arrowTo - likely > 1.5 ? (
        <>
          <line x1={percent(likely)} x2={percent(arrowTo)} y1="84%" y2="84%" className={styles['arrow']} />
          <At x={arrowTo} y="84%">
            <path d="M-5 -3.5 0 0 -5 3.5" className={styles['arrow']} />
          </At>
        </>
      ) : null}
    </>
  );
}

function AtLeast({
  bar,
  limitMl,
}: {
  readonly bar: Extract<BoardRow['bar'], { kind: 'at-least' }>;
  readonly limitMl: number;
}): ReactNode {
  const low = share(bar.lowMl);
  const end = Math.min(98, Math.max(low + 28, share(limitMl) + 14));
  const labelLeft = low > 24;
  return (
    <>
      <rect
        x={percent(low)}
        y="36%"
        width={percent(Math.max(0, end - low))}
        height="34%"
        className={styles['low']}
      />
      <line x1={percent(low)} x2={percent(low)} y1="30%" y2="76%" className={styles['likely']} />
      <At x={end} y="53%">
        <path d="M0 0h10M5 -4.5 11 0 5 4.5" className={styles['arrow']} strokeWidth="2" />
      </At>
      <text
        x={labelLeft ? percent(low) : percent(end)}
        dx={labelLeft ? -7 : 16}
        y="53%"
        textAnchor={labelLeft ? 'end' : 'start'}
        className={styles['words']}
      >
        {bar.words}
      </text>
    </>
  );
}

export function ContentBar({ bar, limitMl, likelyWhenDueMl, held = false }: ContentBarProps): ReactNode {
  const limit = share(limitMl);
  const framed = bar.kind === 'not-known';
  return (
    <svg className={styles['bar']} role="img" aria-label={heard(bar, limitMl)} width="100%" height="100%">
      {bar.kind === 'band' ? (
        <Band bar={bar} limitMl={limitMl} held={held} likelyWhenDueMl={likelyWhenDueMl} />
      ) : null}
      {bar.kind === 'at-least' ? <AtLeast bar={bar} limitMl={limitMl} /> : null}
      {bar.kind === 'draining' ? (
        <>
          <line x1="0" x2="6%" y1="53%" y2="53%" className={styles['likely']} />
          <At x={6} y="53%">
            <circle cx="6" cy="0" r="5" className={styles['ring']} />
            <text x="18" y="0" className={styles['words']}>
              {bar.words}
            </text>
          </At>
        </>
      ) : null}
      {framed ? (
        <>
          <rect x="0.25%" y="24%" width="99.5%" height="54%" className={styles['frame']} />
          <text x="3%" y="52%" className={styles['framed']}>
            {bar.words}
          </text>
        </>
      ) : (
        <>
          <line x1={percent(limit)} x2={percent(limit)} y1="12%" y2="88%" className={styles['limit']} />
          <At x={limit} y="12%">
            <path d="M-5 0H5" className={styles['limit']} />
          </At>
          <text
            x={percent(limit)}
            dx={limit > 90 ? -8 : 8}
            y="17%"
            textAnchor={limit > 90 ? 'end' : 'start'}
            className={styles['figure']}
          >
            {figure(limitMl)}
          </text>
        </>
      )}
    </svg>
  );
}

/** The edge above the bars: 0 to 1,000 mL in blocks of 50. */
export function BarScale(): ReactNode {
  return (
    <span className={styles['scale']} aria-hidden="true">
      <span className={styles['figures']}>
        {[0, 200, 400, 600, 800, 1000].map((value) => (
          <span key={value} style={{ insetInlineStart: `${value / 10}%` }}>
            {figure(value)}
          </span>
        ))}
      </span>
      <span className={styles['edge']} />
    </span>
  );
}
