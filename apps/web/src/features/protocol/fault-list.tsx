/** What the proof found in one table: each fault as a row that can be put right where it stands. */
import { useState, type ReactNode } from 'react';
import { type Fault, faultWords, type ProtocolInput } from '@ebbline/protocol';
import { Key } from '../../shared/key.tsx';
import { Mark } from '../../shared/marks.tsx';
import type { Draft } from './draft.ts';
import styles from './editor.module.css';

/** More stand behind a key, so that the tables stay in reach. */
const firstShown = 5;

export function FaultList({
  draft,
  faults,
  onAddRow,
  onGoTo,
  onTry,
}: {
  readonly draft: Draft;
  readonly faults: readonly Fault[];
  readonly onAddRow: (fault: Fault) => void;
  readonly onGoTo: (rowId: string) => void;
  readonly onTry: (patient: Partial<ProtocolInput>) => void;
}): ReactNode {
  const [all, setAll] = useState(false);
  if (faults.length === 0) return null;
  const shown = all ? faults : faults.slice(0, firstShown);
  return (
    <>
      <ul className={styles['faults']} data-faults>
        {shown.map((fault) => {
          const words = faultWords(fault, draft.protocol);
          return (
            <li
              key={JSON.stringify([fault.kind, fault.rows, fault.law, fault.cells])}
              data-fault={fault.kind}
            >
              <Mark name="not-known" size={20} />
              <div>
                <p className="speak">
                  <strong>{words.title}</strong>
                </p>
                <p>{words.patient}</p>
                <div className={styles['keys']}>
                  {fault.kind === 'gap' ? (
                    <Key onClick={() => onAddRow(fault)}>Add a row for these</Key>
                  ) : null}
                  {fault.rows.map((rowId) => (
                    <Key key={rowId} onClick={() => onGoTo(rowId)}>
                      Go to row {rowId}
                    </Key>
                  ))}
                  <Key look="plain" onClick={() => onTry(fault.patient)}>
                    Try this patient
                  </Key>
                </div>
              </div>
            </li>
          );
        })}
      </ul>
      {faults.length > firstShown && !all ? (
        <Key onClick={() => setAll(true)}>Show all {faults.length} of this table</Key>
      ) : null}
    </>
  );
}
