/** "The same in words and figures": everything that the chart shows, as a table that can be read, heard and printed. */
import { useDeferredValue, useMemo, type ReactNode } from 'react';
import { estimateTrackOf, type PatientFacts } from '@ebbline/core/facts';
import { aboutMl, hasEstimate, timelineRows } from '@ebbline/core/present';
import { minuteMs } from '@ebbline/core/quantity';
import type { Directory } from '@ebbline/core/record';
import { Plate } from '../../shared/plate.tsx';
import { useReplica } from '../../shell/hooks.ts';
import { valuesOf } from './chart-input.ts';
import styles from './patient.module.css';

/** Kinds that stand in the record but say nothing of the bladder. */
const aside = new Set(['step-advised', 'withdrawn', 'patient-registered', 'overdue-acknowledged']);

export function TwinTable({
  facts,
  zone,
  directory,
  limit = 24,
}: {
  readonly facts: PatientFacts;
  readonly zone: string;
  readonly directory: Directory;
  readonly limit?: number;
}): ReactNode {
  const replica = useReplica();
  const calm = useDeferredValue(facts);
  const rows = useMemo(() => {
    const kindOf = new Map(calm.timeline.map(({ entry }) => [entry.id, entry.kind]));
    return timelineRows(calm, zone, directory)
      .filter((row) => !aside.has(kindOf.get(row.id) ?? ''))
      .slice(-limit);
  }, [calm, directory, limit, zone]);
  const heldAt = useMemo(() => {
    const request = {
      patient: calm.patient,
      entries: replica.entriesOf(calm.patient),
      nowMs: calm.nowMs,
      settings: calm.settings,
      zone,
    };
    return new Map(
      [...new Set(rows.map((row) => row.atMs))].flatMap((atMs) => {
        const [value] = valuesOf(estimateTrackOf(request, { fromMs: atMs, toMs: atMs, everyMin: 1 }));
        return value && atMs <= calm.nowMs + minuteMs
          ? [[atMs, `${aboutMl(value.p05Ml)}–${aboutMl(value.p95Ml)}`] as const]
          : [];
      }),
    );
  }, [calm, replica, rows, zone]);
  const now =
    hasEstimate(facts) && facts.estimate.informativeEntries > 0 ? facts.estimate.content : undefined;
  return (
    <Plate title="The same in words and figures">
      <div className={styles['scroll']}>
        <table className={styles['twin']}>
          <thead>
            <tr>
              <th scope="col">Time</th>
              <th scope="col">Entry</th>
              <th scope="col" className={styles['figure']}>
                mL
              </th>
              <th scope="col" className={styles['figure']}>
                Holds then, mL
              </th>
              <th scope="col">By</th>
              <th scope="col">Remark</th>
            </tr>
          </thead>
          <tbody>
            {rows.map((row) => (
              <tr key={row.id} className={row.setAside ? styles['setAside'] : undefined}>
                <th scope="row" className={styles['rowTime']}>
                  {row.time}
                </th>
                <td data-label="Entry">{row.setAside ? <s>{row.what}</s> : row.what}</td>
                <td data-label="mL" className={styles['figure']}>
                  {row.setAside ? <s>{row.volume}</s> : row.volume}
                </td>
                <td data-label="Holds then" className={styles['figure']}>
                  {row.setAside ? '' : (heldAt.get(row.atMs) ?? '')}
                </td>
                <td data-label="By">{row.by}</td>
                <td data-label="Remark">{row.remark}</td>
              </tr>
            ))}
            {now ? (
              <tr className={styles['nowRow']}>
                <th scope="row" className={styles['rowTime']}>
                  Now
                </th>
                <td data-label="Entry">Estimate</td>
                <td className={styles['figure']}>–</td>
                <td data-label="Holds" className={styles['figure']}>
                  {aboutMl(now.p05Ml)}–{aboutMl(now.p95Ml)}
                </td>
                <td>–</td>
                <td data-label="Remark">Likely about {aboutMl(now.p50Ml)} mL.</td>
              </tr>
            ) : null}
          </tbody>
        </table>
      </div>
    </Plate>
  );
}
