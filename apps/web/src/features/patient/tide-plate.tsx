/** The plate around the tide chart: its width, its stretch of time, its key, and what a screen reader hears instead. */
import {
  Suspense,
  lazy,
  useCallback,
  useDeferredValue,
  useLayoutEffect,
  useMemo,
  useRef,
  useState,
  type ReactNode,
} from 'react';
import { estimateTrackOf, type PatientFacts } from '@ebbline/core/facts';
import {
  aboutMl,
  clockOrDay,
  forecastSentence,
  hasEstimate,
  ownerWords,
  theirs,
  whole,
  whyForecast,
} from '@ebbline/core/present';
import type { Directory } from '@ebbline/core/record';
import { HitRateLine } from '../../shared/bedside/hit-rate-line.tsx';
import { Why } from '../../shared/bedside/why.tsx';
import { Key } from '../../shared/key.tsx';
import { Plate } from '../../shared/plate.tsx';
import { useReplica } from '../../shell/hooks.ts';
import { chartInputOf } from './chart-events.ts';
import { chartWindow, valuesOf } from './chart-input.ts';
import styles from './patient.module.css';

// Scales and curves are loaded when a chart is first looked at.
const TideChart = lazy(() => import('./tide-chart.tsx').then((module) => ({ default: module.TideChart })));

const everyMin = 5; // S-patient-chart-step
const shiftByHours = 3;

/** The chart in one breath, for those who do not see it. */
export function chartSummary(facts: PatientFacts, zone: string): string {
  const parts: string[] = [];
  if (hasEstimate(facts) && facts.estimate.informativeEntries > 0) {
    const { p05Ml, p50Ml, p95Ml } = facts.estimate.content;
    parts.push(
      `Now about ${aboutMl(p50Ml)} mL, nine times in ten between ${aboutMl(p05Ml)} and ${aboutMl(p95Ml)} mL.`,
    );
  }
  parts.push(forecastSentence(facts, zone));
  const last = facts.readings.at(-1);
  if (last?.volumeMl !== undefined)
    parts.push(
      `Last reading ${last.result === 'at-least' ? 'at least ' : ''}${whole(last.volumeMl)} mL at ${clockOrDay(last.atMs, facts.nowMs, zone)}.`,
    );
  for (const late of facts.lateDetections)
    if (late.overMin)
      parts.push(
        `Known afterwards: over ${whole(late.limitMl)} mL for about ${Math.round(late.overMin.likely)} minutes before ${clockOrDay(late.atMs, facts.nowMs, zone)}.`,
      );
  return parts.join(' ');
}

function ChartKey(): ReactNode {
  const swatch = (children: ReactNode, words: string): ReactNode => (
    <li>
      <svg width="34" height="16" viewBox="0 0 34 16" aria-hidden="true">
        {children}
      </svg>
      {words}
    </li>
  );
  return (
    <ul className={styles['chartKey']}>
      {swatch(
        <>
          <rect x="1" y="1" width="32" height="14" fill="var(--deep-3)" stroke="var(--deep-2)" />
          <rect x="1" y="5" width="32" height="6" fill="var(--deep-2)" />
          <path d="M1 8h32" stroke="var(--deep)" strokeWidth="2" />
        </>,
        'nine tenths, half, likely',
      )}
      {swatch(
        <>
          <rect x="1" y="1" width="32" height="14" fill="url(#fill-forecast)" stroke="var(--deep-2)" />
          <path d="M1 8h32" stroke="var(--deep)" strokeWidth="2" strokeDasharray="6 4" />
        </>,
        'forecast, if nothing leaves',
      )}
      {swatch(
        <>
          <path d="M17 1v14M13 1h8M13 15h8" stroke="var(--ink)" strokeWidth="1.6" />
          <circle cx="17" cy="8" r="4.4" fill="var(--paper)" stroke="var(--ink)" strokeWidth="2" />
        </>,
        'reading and its error',
      )}
      {swatch(
        <>
          <rect x="9" y="0" width="16" height="12" fill="url(#fill-low)" />
          <path d="M8 13h18M10 8l7-6 7 6" fill="none" stroke="var(--ink)" strokeWidth="2" />
        </>,
        'at least this much',
      )}
      {swatch(<path d="M4 14 28 2v12z" fill="var(--ink)" />, 'over the limit, known afterwards')}
      {swatch(
        <rect x="1" y="1" width="32" height="14" fill="url(#fill-unknown)" stroke="var(--rule)" />,
        'not known',
      )}
    </ul>
  );
}

export function TidePlate({
  facts,
  zone,
  directory,
}: {
  readonly facts: PatientFacts;
  readonly zone: string;
  readonly directory: Directory;
}): ReactNode {
  const replica = useReplica();
  const box = useRef<HTMLDivElement>(null);
  const [widthPx, setWidthPx] = useState(0);
  const [shiftHours, setShiftHours] = useState(0);
  const calm = useDeferredValue(facts);

  useLayoutEffect(() => {
    const element = box.current;
    if (!element) return;
    const measure = (): void => setWidthPx(Math.floor(element.clientWidth));
    measure();
    const observer = new ResizeObserver(measure);
    observer.observe(element);
    return () => observer.disconnect();
  }, []);

  const input = useMemo(() => {
    const window = chartWindow(calm, shiftHours);
    const request = {
      patient: calm.patient,
      entries: replica.entriesOf(calm.patient),
      nowMs: calm.nowMs,
      settings: calm.settings,
      zone,
    };
    const track = valuesOf(estimateTrackOf(request, { ...window, everyMin }));
    return chartInputOf(calm, track, zone, (owner) => ownerWords(owner, directory), shiftHours);
  }, [calm, directory, replica, shiftHours, zone]);

  const explain = useCallback(() => whyForecast(facts, zone, directory), [directory, facts, zone]);
  const forecast = hasEstimate(facts) && facts.estimate.informativeEntries > 0;

  return (
    <Plate title={`What ${theirs(facts)} bladder holds`} note="mL, against the limit">
      <p className="heard">{chartSummary(facts, zone)} The same stands below as a table.</p>
      <div ref={box} className={styles['chart']}>
        {widthPx > 0 ? (
          <Suspense fallback={<p className="quiet">Drawing…</p>}>
            <TideChart input={input} widthPx={widthPx} plotHeight={widthPx > 900 ? 340 : 320} />
          </Suspense>
        ) : null}
      </div>
      <div className={styles['chartFoot']}>
        <ChartKey />
        <div className={styles['chartKeys']}>
          <Key onClick={() => setShiftHours(shiftHours - shiftByHours)}>Earlier</Key>
          <Key disabled={shiftHours === 0} onClick={() => setShiftHours(0)}>
            Now
          </Key>
          <Key onClick={() => setShiftHours(shiftHours + shiftByHours)}>Later</Key>
        </div>
      </div>
      {forecast ? (
        <div className={styles['behind']}>
          <HitRateLine ward={facts.ward} />
          <Why of="The forecast" explain={explain} />
        </div>
      ) : null}
    </Plate>
  );
}
