/**
 * The number being typed, laid on a graduated edge beside this person's own limit and what was expected from the
 * filling. Nothing is drawn on top of "at least": the hatch says that it is not known.
 */
import type { ReactNode } from 'react';
import { aboutMl, hasEstimate, theirs, whole } from '@ebbline/core/present';
import type { PatientFacts } from '@ebbline/core/facts';
import styles from './ruler.module.css';

interface RulerProps {
  readonly facts: PatientFacts;
  readonly volumeMl: number | undefined;
  readonly atLeast: boolean;
  /** Said for screen readers and under the edge. */
  readonly showExpected: boolean;
}

export function Ruler({ facts, volumeMl, atLeast, showExpected }: RulerProps): ReactNode {
  const topMl = Math.max(1000, Math.ceil(Math.max(facts.limitMl, volumeMl ?? 0) / 500) * 500);
  const step = topMl > 2000 ? 500 : topMl > 1000 ? 250 : 200;
  const share = (ml: number): number => Math.round((Math.min(ml, topMl) / topMl) * 1000);
  const band =
    showExpected && hasEstimate(facts) && facts.estimate.informativeEntries > 0
      ? facts.estimate.content
      : undefined;
  const blocks = Array.from({ length: 20 }, (_, index) => index);
  const at = (ml: number): string => `${share(ml) / 10}%`;
  const words = `${theirs(facts)} ${facts.limitSource === 'unit' ? 'limit by the unit’s rule' : 'own limit'} ${whole(facts.limitMl)}`;
  const limitRight = facts.limitMl / topMl > 0.6;
  return (
    <div className={styles['ruler']}>
      <p className="heard">
        {`${words} mL.`}
        {band ? ` Expected from the filling: ${aboutMl(band.p05Ml)} to ${aboutMl(band.p95Ml)} mL.` : ''}
      </p>
      <div aria-hidden="true">
        <p
          className={styles['limitWords']}
          style={
            limitRight
              ? { insetInlineEnd: `calc(100% - ${at(facts.limitMl)} + 8px)` }
              : { insetInlineStart: `calc(${at(facts.limitMl)} + 8px)` }
          }
        >
          {words}
        </p>
        <svg className={styles['marks']} viewBox="0 0 1000 44" preserveAspectRatio="none">
          {band ? (
            <rect
              x={share(band.p05Ml)}
              y={12}
              width={Math.max(4, share(band.p95Ml) - share(band.p05Ml))}
              height={10}
              fill="url(#fill-forecast)"
            />
          ) : null}
          {volumeMl === undefined ? null : atLeast ? (
            <rect
              x={share(volumeMl)}
              y={26}
              width={Math.min(1000 - share(volumeMl), 260)}
              height={16}
              fill="url(#fill-low)"
            />
          ) : (
            <rect x={0} y={32} width={share(volumeMl)} height={6} fill="var(--deep)" />
          )}
          {volumeMl === undefined ? null : (
            <rect x={Math.min(996, share(volumeMl) - 2)} y={22} width={5} height={22} fill="var(--deep)" />
          )}
          <rect x={share(facts.limitMl) - 1.5} y={2} width={3.5} height={42} fill="var(--ink)" />
          <rect x={share(facts.limitMl) - 8} y={0} width={16} height={4} fill="var(--ink)" />
        </svg>
        <div className={styles['edge']}>
          {blocks.map((index) => (
            <span key={index} data-filled={index % 2 === 0} />
          ))}
        </div>
        <div className={styles['figures']}>
          {Array.from({ length: Math.floor(topMl / step) + 1 }, (_, index) => (
            <span key={index} style={{ insetInlineStart: at(index * step) }}>
              {whole(index * step)}
            </span>
          ))}
        </div>
        {band ? (
          <p className={styles['expected']}>
            upright lines: expected from the filling, {aboutMl(band.p05Ml)}–{aboutMl(band.p95Ml)}
          </p>
        ) : null}
      </div>
    </div>
  );
}
