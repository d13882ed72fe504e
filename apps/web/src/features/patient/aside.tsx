/** Beside the chart: what to keep in mind, the catheter's clock, what earlier entries proved, and doubles to settle. */
import { useCallback, useEffect, useState, type ReactNode } from 'react';
import {
  backfillSentence,
  cautionsFor,
  clockOrDay,
  labels,
  lateDetectionSentence,
  lookBackSentence,
  pairSentence,
  residualSentence,
  whyLookBack,
  whyResidual,
} from '@ebbline/core/present';
import {
  lookBackAt,
  type LateDetection,
  type LookBack,
  type PatientFacts,
  type ResidualFact,
} from '@ebbline/core/facts';
import type { Directory } from '@ebbline/core/record';
import { Why } from '../../shared/bedside/why.tsx';
import { KeyLink } from '../../shared/key.tsx';
import { Plate } from '../../shared/plate.tsx';
import { addressOf } from '../../shell/address.ts';
import styles from './patient.module.css';

export function KeepInMind({ facts }: { readonly facts: PatientFacts }): ReactNode {
  const cautions = cautionsFor(facts);
  if (cautions.length === 0) return null;
  return (
    <Plate title="Keep in mind">
      <ul className={`speak ${styles['mind'] ?? ''}`}>
        {cautions.map((caution) => (
          <li key={caution.sentence} className={caution.urgent ? styles['urgent'] : undefined}>
            {caution.sentence}
          </li>
        ))}
      </ul>
    </Plate>
  );
}

export function CatheterClock({
  facts,
  zone,
}: {
  readonly facts: PatientFacts;
  readonly zone: string;
}): ReactNode {
  const { catheter } = facts;
  if (!catheter.inPlace) return null;
  const planned = catheter.plannedRemovalAtMs;
  return (
    <Plate title="Catheter">
      <p className={styles['day']}>day {catheter.catheterDays}</p>
      <p className="speak">
        {catheter.placedAtMs === undefined
          ? ''
          : `In since ${clockOrDay(catheter.placedAtMs, facts.nowMs, zone)}`}
        {catheter.reason === undefined
          ? '; no reason is written.'
          : `, for ${(labels.catheterReasons[catheter.reason] ?? catheter.reason).toLowerCase()}.`}{' '}
        {planned === undefined
          ? 'No removal is planned: plan one, or write why not.'
          : planned <= facts.nowMs
            ? `It was planned out at ${clockOrDay(planned, facts.nowMs, zone)}.`
            : `Planned out at ${clockOrDay(planned, facts.nowMs, zone)}.`}
      </p>
      {catheter.status === undefined || catheter.status === 'draining' ? null : (
        <p className="speak">
          {catheter.status === 'irrigation-running' ? 'Irrigation runs.' : `It is ${catheter.status}.`}
        </p>
      )}
      <div className={styles['rowKeys']}>
        <KeyLink href={addressOf('entry', facts.patient, 'catheter-reviewed')}>Review</KeyLink>
        <KeyLink href={addressOf('entry', facts.patient, 'catheter-removed')}>Removed</KeyLink>
        <KeyLink href={addressOf('entry', facts.patient, 'catheter-status')}>How it is</KeyLink>
      </div>
    </Plate>
  );
}

/** A void trial by backfill that runs: what was put in and what came of it. */
export function VoidTrial({
  facts,
  zone,
}: {
  readonly facts: PatientFacts;
  readonly zone: string;
}): ReactNode {
  const sentence = backfillSentence(facts, zone);
  return sentence === undefined ? null : (
    <Plate title="Void trial">
      <p className="speak" data-void-trial>
        {sentence}
      </p>
    </Plate>
  );
}

function WhyResidual({
  residual,
  facts,
  zone,
  directory,
}: {
  readonly residual: ResidualFact;
  readonly facts: PatientFacts;
  readonly zone: string;
  readonly directory: Directory;
}): ReactNode {
  const explain = useCallback(
    () => whyResidual(residual, facts, zone, directory),
    [directory, facts, residual, zone],
  );
  return <Why of={`The late residual of ${Math.round(residual.residualMl)} mL`} explain={explain} />;
}

/** Since when somebody found over the limit probably was. Worked out after the page is drawn: nobody waits for it. */
function SinceWhen({
  late,
  facts,
  zone,
  directory,
}: {
  readonly late: LateDetection;
  readonly facts: PatientFacts;
  readonly zone: string;
  readonly directory: Directory;
}): ReactNode {
  const [back, setBack] = useState<LookBack | 'none'>();
  useEffect(() => {
    const timer = setTimeout(() => {
      const found = lookBackAt(late, facts, zone);
      setBack('notValid' in found ? 'none' : found);
    }, 0);
    return () => clearTimeout(timer);
  }, [facts, late, zone]);
  const explain = useCallback(
    () => (back === undefined || back === 'none' ? undefined : whyLookBack(back, facts, zone, directory)),
    [back, directory, facts, zone],
  );
  if (back === 'none') return null;
  if (back === undefined) return <span className="quiet"> Looking back…</span>;
  return (
    <>
      {' '}
      <span data-look-back="">{lookBackSentence(back, facts.nowMs, zone)}</span>
      <Why of={`Over the limit, found at ${clockOrDay(late.atMs, facts.nowMs, zone)}`} explain={explain} />
    </>
  );
}

/** Residuals, pairs of reading and drain, and late detections, newest first, as sentences. */
export function Proved({
  facts,
  zone,
  directory,
}: {
  readonly facts: PatientFacts;
  readonly zone: string;
  readonly directory: Directory;
}): ReactNode {
  const sentences: {
    key: string;
    atMs: number;
    words: string;
    residual?: ResidualFact;
    late?: LateDetection;
  }[] = [
    ...facts.residuals.map((one) => ({
      key: `r-${one.readingId}`,
      atMs:
        facts.readings.find((reading) => reading.id === one.readingId)?.atMs ??
        facts.drains.find((drain) => drain.id === one.readingId)?.atMs ??
        0,
      words: residualSentence(one),
      ...(one.late && !one.atLeast && one.carriedBackMl !== undefined ? { residual: one } : {}),
    })),
    ...facts.pairs.map((one) => ({
      key: `p-${one.drainId}-${one.readingId}`,
      atMs: facts.drains.find((drain) => drain.id === one.drainId)?.atMs ?? 0,
      words: pairSentence(one),
    })),
    ...facts.lateDetections.map((one) => ({
      key: `l-${one.byEntry}`,
      atMs: one.atMs,
      words: lateDetectionSentence(one, zone),
      late: one,
    })),
  ];
  if (sentences.length === 0) return null;
  const newest = sentences.toSorted((a, b) => b.atMs - a.atMs).slice(0, 6);
  return (
    <Plate title="What it has shown">
      <ul className={`speak ${styles['mind'] ?? ''}`}>
        {newest.map((one) => (
          <li key={one.key}>
            <b>{clockOrDay(one.atMs, facts.nowMs, zone)}</b> {one.words}
            {one.residual ? (
              <WhyResidual residual={one.residual} facts={facts} zone={zone} directory={directory} />
            ) : null}
            {one.late ? <SinceWhen late={one.late} facts={facts} zone={zone} directory={directory} /> : null}
          </li>
        ))}
      </ul>
    </Plate>
  );
}
