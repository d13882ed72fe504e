import type { ReactNode } from 'react';
import { labels, volumeWords, whole } from '@ebbline/core/present';
import { instantMs } from '@ebbline/core/quantity';
import type { Entry } from '@ebbline/core/record';
import { Dialog } from '../../shared/dialog.tsx';
import { labelOfKind } from '../../shared/kind-words.ts';
import { addressOf } from '../../shell/address.ts';
import { dayWords, timeWords } from '../../shell/day-words.ts';
import { useReplica } from '../../shell/hooks.ts';
import styles from './unit.module.css';

export interface DrillRequest {
  readonly title: string;
  readonly behind: readonly { readonly patient: string; readonly entry: string }[];
}

/** What was asked by when, or how much it was: a list of "Step advised" would tell nobody anything. */
function entryWords(entry: Entry, zone: string): string {
  switch (entry.kind) {
    case 'step-advised':
      return `${labels.steps[entry.payload.step]}, due ${timeWords(instantMs(entry.payload.dueAt), zone)}`;
    case 'reading':
      return `Reading ${volumeWords(entry.payload)}`;
    case 'drained':
      return entry.payload.volumeMl === undefined ? 'Drained' : `Drained ${whole(entry.payload.volumeMl)} mL`;
    case 'void':
      return entry.payload.volumeMl === undefined
        ? 'Passed, not measured'
        : `Passed ${whole(entry.payload.volumeMl)} mL`;
    default:
      return labelOfKind(entry.kind);
  }
}

/** The entries behind a figure, each leading to its patient. */
export function Drill({
  request,
  zone,
  onClose,
}: {
  readonly request: DrillRequest;
  readonly zone: string;
  readonly onClose: () => void;
}): ReactNode {
  const replica = useReplica();
  const byId = new Map(replica.entries().map((entry) => [entry.id, entry]));
  const rows = request.behind.flatMap(({ patient, entry }) => {
    const found = byId.get(entry);
    return found ? [{ patient, entry: found, atMs: instantMs(found.effectiveAt) }] : [];
  });
  return (
    <Dialog title={`${request.title}: ${request.behind.length}`} onClose={onClose}>
      {rows.length === 0 ? (
        <p className="speak">No entry stands behind this figure.</p>
      ) : (
        <table>
          <thead>
            <tr>
              <th scope="col">When</th>
              <th scope="col">What</th>
              <th scope="col">Patient</th>
            </tr>
          </thead>
          <tbody>
            {rows
              .sort((a, b) => b.atMs - a.atMs)
              .map(({ patient, entry, atMs }) => (
                <tr key={entry.id}>
                  <td>
                    {dayWords(atMs, zone)} {timeWords(atMs, zone)}
                  </td>
                  <td>{entryWords(entry, zone)}</td>
                  <td>
                    <a className={styles['open']} href={addressOf('patient', patient)}>
                      {replica.factsOf(patient).initials || 'Open'}
                    </a>
                  </td>
                </tr>
              ))}
          </tbody>
        </table>
      )}
      <button type="button" className={styles['close']} onClick={onClose}>
        Back
      </button>
    </Dialog>
  );
}
