/** The body drawn flat from three sides, with the same hatching and one scale: without a graphics card, and on paper. */
import type { ReactNode } from 'react';
import { flatView, flatViews, type Body, type FlatViewName } from '@ebbline/imaging';
import { scaleBar } from './turning.ts';
import styles from './body.module.css';

const words: Readonly<Record<FlatViewName, string>> = {
  front: 'from the front, head up',
  side: "from the picture's right, head at the left",
  feet: 'from the feet, front up',
};

const line = (flat: Float64Array): string => {
  let path = '';
  for (let place = 0; place < flat.length; place += 2)
    path += `${place === 0 ? 'M' : 'L'}${(flat[place] as number).toFixed(1)} ${(flat[place + 1] as number).toFixed(1)}`;
  return `${path}Z`;
};

export function FlatViews({ body }: { readonly body: Body }): ReactNode {
  const views = flatViews.map((name) => ({ name, ...flatView(body, name) }));
  const reachMm = Math.max(...views.flatMap((view) => [...view.silhouetteMm].map(Math.abs)), 1) * 1.08;
  // One scale for all three, so that they can be held against each other.
  const bar = scaleBar((2 * reachMm) / 100, 45);
  return (
    <div className={styles['flat']}>
      {views.map(({ name, silhouetteMm, hiddenRows, rowMm }) => {
        const silhouette = line(silhouetteMm);
        return (
          <figure key={name}>
            <svg
              viewBox={`${-reachMm} ${-reachMm} ${2 * reachMm} ${2 * reachMm}`}
              aria-hidden="true"
              data-flat={name}
            >
              <defs>
                <clipPath id={`body-${name}`}>
                  <path d={silhouette} />
                </clipPath>
                <pattern
                  id={`body-hatch-${name}`}
                  width={reachMm / 14}
                  height={reachMm / 14}
                  patternUnits="userSpaceOnUse"
                  patternTransform="rotate(45)"
                >
                  <path d={`M0 0v${reachMm / 14}`} stroke="var(--ink)" strokeWidth={reachMm / 45} />
                </pattern>
              </defs>
              <path d={silhouette} fill="var(--deep-2)" />
              <g clipPath={`url(#body-${name})`}>
                {(['var(--paper-lift)', `url(#body-hatch-${name})`] as const).map((fill) => (
                  <path
                    key={fill}
                    fill={fill}
                    d={hiddenRows
                      .map((row) => `M${row.fromMm} ${row.topMm}H${row.toMm}v${rowMm + 0.05}H${row.fromMm}Z`)
                      .join('')}
                  />
                ))}
              </g>
              <path d={silhouette} fill="none" stroke="var(--ink)" strokeWidth={reachMm / 60} />
            </svg>
            <figcaption className="label">{words[name]}</figcaption>
          </figure>
        );
      })}
      <div className={styles['flatScale']}>
        <svg viewBox={`0 0 ${2 * reachMm} 6`} aria-hidden="true">
          <path
            d={`M1 1v4M1 3h${bar.mm}M${1 + bar.mm} 1v4`}
            stroke="var(--ink)"
            strokeWidth="0.8"
            fill="none"
          />
        </svg>
        <span className="label">{bar.mm} mm</span>
      </div>
    </div>
  );
}
