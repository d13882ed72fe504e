/** `#/operations`: what is watched on the server, for administrators. It holds nothing about patients. */
import { useEffect, useState, type ReactNode } from 'react';
import { Key } from '../../shared/key.tsx';
import { Empty, Notice, Plate } from '../../shared/plate.tsx';
import styles from './operations.module.css';

interface Operations {
  readonly checks: readonly {
    readonly name: string;
    readonly state: 'good' | 'failed' | 'not-used';
    readonly found: string;
    readonly todo?: string;
  }[];
  readonly downtime?: { readonly folder: string; readonly wards: number; readonly printedAt?: string };
  readonly node: string;
}

const names: Readonly<Record<string, string>> = {
  store: 'The record keeps what is saved',
  disk: 'Room on its disk',
  schema: 'Form of the record',
  checkpoint: 'Signed checkpoint of the audit',
  'downtime-prints': 'Prints for the hours without the tool',
};
const states = { good: 'good', failed: 'failed', 'not-used': 'not used' } as const;
const order = ['failed', 'good', 'not-used'] as const;

export default function OperationsPage(): ReactNode {
  const [shown, setShown] = useState<Operations | 'asking' | 'refused' | 'not-reached'>('asking');
  const [again, setAgain] = useState(0);
  useEffect(() => {
    let gone = false;
    fetch('/api/operations', { credentials: 'same-origin', cache: 'no-store' }).then(
      async (answer) => {
        const next = answer.ok ? ((await answer.json()) as Operations) : 'refused';
        if (!gone) setShown(next);
      },
      () => {
        if (!gone) setShown('not-reached');
      },
    );
    return () => {
      gone = true;
    };
  }, [again]);
  const report = typeof shown === 'object' ? shown : undefined;
  const failed = report?.checks.filter(({ state }) => state === 'failed') ?? [];
  return (
    <div className={styles['page']}>
      <h1>Operations</h1>
      {shown === 'asking' ? <output>Asking the server…</output> : null}
      {shown === 'refused' ? <Empty>This page is for those who look after the server.</Empty> : null}
      {shown === 'not-reached' ? <Empty>The server does not answer.</Empty> : null}
      {report ? (
        <>
          {failed.map(({ name, found, todo }) => (
            <Notice key={name} mark="overdue" act>
              <b>{names[name] ?? name}: failed.</b> {found}. {todo}
            </Notice>
          ))}
          {failed.length === 0 ? <p className="speak">Nothing has failed.</p> : null}
          <Plate title="What is watched">
            <dl className={styles['checks']}>
              {report.checks
                .toSorted((a, b) => order.indexOf(a.state) - order.indexOf(b.state))
                .map(({ name, state, found }) => (
                  <div key={name} data-check={name}>
                    <dt>{names[name] ?? name}</dt>
                    <dd>
                      <b>{states[state]}</b>, {found}
                    </dd>
                  </div>
                ))}
              {report.downtime ? (
                <div>
                  <dt>Folder of the prints</dt>
                  <dd>{report.downtime.folder}</dd>
                </div>
              ) : null}
              <div>
                <dt>Runtime</dt>
                <dd>{report.node}</dd>
              </div>
            </dl>
          </Plate>
        </>
      ) : null}
      <div>
        <Key
          onClick={() => {
            setShown('asking');
            setAgain(again + 1);
          }}
        >
          Ask again
        </Key>
      </div>
    </div>
  );
}
