/** Two entries that may be one: the same look charted twice. A person decides; both stay until then. */
import { useState, type ReactNode } from 'react';
import { timelineRows } from '@ebbline/core/present';
import { isRefusal, type Refusal } from '@ebbline/core/quantity';
import type { PatientFacts } from '@ebbline/core/facts';
import { mayWrite, type Directory, type Role } from '@ebbline/core/record';
import { Key } from '../../shared/key.tsx';
import { Plate, RefusalNotice } from '../../shared/plate.tsx';
import { useReplica } from '../../shell/hooks.ts';
import { withdrawal } from './correcting.ts';
import styles from './patient.module.css';

const keptKey = 'ebbline.kept-both';
/** Pairs that somebody on this tablet has said are two; the record itself needs nothing for that. */
const keptBoth = (): ReadonlySet<string> => {
  try {
    const list: unknown = JSON.parse(localStorage.getItem(keptKey) ?? '[]');
    return new Set(Array.isArray(list) ? list.filter((one): one is string => typeof one === 'string') : []);
  } catch {
    return new Set();
  }
};

export function Duplicates({
  facts,
  zone,
  directory,
  role,
}: {
  readonly facts: PatientFacts;
  readonly zone: string;
  readonly directory: Directory;
  readonly role: Role;
}): ReactNode {
  const replica = useReplica();
  const [both, setBoth] = useState(keptBoth);
  const [refusal, setRefusal] = useState<Refusal>();
  const open = facts.possibleDuplicates.filter((one) => !both.has(`${one.first} ${one.second}`));
  if (open.length === 0 || !mayWrite(role, 'withdrawn')) return null;
  const rows = timelineRows(facts, zone, directory);
  const keep = (key: string): void => {
    const next = new Set([...both, key]);
    setBoth(next);
    try {
      localStorage.setItem(keptKey, JSON.stringify([...next].slice(-200)));
    } catch {
      // Asked again after the page is closed.
    }
  };
  return (
    <Plate title="Is this one entry or two?">
      {open.map((pair) => {
        const [first, second] = [pair.first, pair.second].map((id) => rows.find((row) => row.id === id));
        if (!first || !second) return null;
        return (
          <div key={`${pair.first} ${pair.second}`} className={styles['double']}>
            <p className="speak">
              {first.time} {first.what} {first.volume} mL by {first.by}, and {second.time} {second.what}{' '}
              {second.volume} mL by {second.by}.
            </p>
            <div className={styles['rowKeys']}>
              <Key onClick={() => keep(`${pair.first} ${pair.second}`)}>Two: keep both</Key>
              <Key
                onClick={() => {
                  void replica.record([withdrawal(facts.patient, second.id, 'duplicate')]).then((kept) => {
                    if (isRefusal(kept)) setRefusal(kept);
                  });
                }}
              >
                One: withdraw the second
              </Key>
            </div>
          </div>
        );
      })}
      {refusal ? <RefusalNotice refusal={refusal} /> : null}
    </Plate>
  );
}
