/** The answer to one question (give each its own `key`): newest first, read on when asked. A line says what happened; what is out of the ordinary is said beside it. */
import { useEffect, useState, type ReactNode } from 'react';
import type { Refusal } from '@ebbline/core/quantity';
import { labels } from '@ebbline/core/present';
import type { Role } from '@ebbline/core/record';
import { Key, KeyLink } from '../../shared/key.tsx';
import { Empty, RefusalNotice } from '../../shared/plate.tsx';
import { dayWords, timeWords } from '../../shell/day-words.ts';
import { useMe } from '../../shell/hooks.ts';
import { viewLog } from '../../shell/view-log.ts';
import { looksOf, tableAddress, type Asked, type LookLine } from './ask.ts';
import { askFailed } from './ask-failed.ts';
import styles from './who-looked.module.css';

interface Read {
  readonly lines: readonly LookLine[];
  readonly next?: string | undefined;
  readonly refusal?: Refusal | undefined;
}

const roleOf = (role: string): string => (role in labels.roles ? labels.roles[role as Role] : '');

function When({ line, zone }: { readonly line: LookLine; readonly zone: string }): ReactNode {
  const atMs = Date.parse(line.happenedAt);
  return (
    <time dateTime={line.happenedAt}>
      {dayWords(atMs, zone)} <b>{timeWords(atMs, zone)}</b>
    </time>
  );
}

export function LooksTable({
  asked,
  from,
  zone,
  title,
}: {
  readonly asked: Asked;
  readonly from: string | undefined;
  readonly zone: string;
  /** Of whom, for the caption. */
  readonly title: string;
}): ReactNode {
  const me = useMe();
  const [read, setRead] = useState<Read | undefined>();
  const [busy, setBusy] = useState(false);
  const [onlyUnusual, setOnlyUnusual] = useState(false);
  const ofPerson = 'person' in asked;
  const about = ofPerson ? asked.person : asked.patient;

  useEffect(() => {
    let here = true;
    void looksOf(ofPerson ? { person: about } : { patient: about }, from).then((answer) => {
      if (here)
        setRead(answer.state === 'reached' ? answer.value : { lines: [], refusal: askFailed(answer) });
    });
    return () => {
      here = false;
    };
  }, [ofPerson, about, from]);

  const readOn = async (): Promise<void> => {
    if (busy || read?.next === undefined) return;
    setBusy(true);
    const answer = await looksOf(asked, from, read.next);
    setBusy(false);
    setRead(
      answer.state === 'reached'
        ? { lines: [...read.lines, ...answer.value.lines], next: answer.value.next }
        : { ...read, refusal: askFailed(answer) },
    );
  };
  const print = (): void => {
    viewLog.note({
      person: me.id,
      shown: 'who-looked-printed',
      ...(ofPerson ? {} : { patient: about }),
    });
    globalThis.print();
  };

  if (read === undefined) return <p className="quiet">Reading the audit…</p>;
  const unusual = read.lines.filter((line) => line.unusual.length > 0);
  const lines = onlyUnusual ? unusual : read.lines;
  return (
    <div className={styles['answer']}>
      <div className={styles['keys']}>
        <Key
          chosen={onlyUnusual}
          disabled={unusual.length === 0}
          onClick={() => setOnlyUnusual(!onlyUnusual)}
        >
          Only lines with a note ({unusual.length})
        </Key>
        <Key onClick={print}>Print</Key>
        <KeyLink href={tableAddress(asked, from)} download="who-looked.csv">
          Take out as a table
        </KeyLink>
      </div>
      {read.refusal ? <RefusalNotice refusal={read.refusal} /> : null}
      {read.lines.length === 0 && !read.refusal ? (
        <Empty>Nobody, in this period. Ask for a longer one.</Empty>
      ) : null}
      {lines.length === 0 ? null : (
        <table className={styles['table']}>
          <caption className="heard">{title}</caption>
          <thead>
            <tr>
              <th scope="col">When</th>
              {ofPerson ? null : <th scope="col">Who</th>}
              <th scope="col">What</th>
              {ofPerson ? <th scope="col">Patient</th> : null}
              <th scope="col">Ward then</th>
              <th scope="col">Tablet</th>
              <th scope="col">To note</th>
            </tr>
          </thead>
          <tbody>
            {lines.map((line) => (
              <tr key={line.cursor} data-kind={line.kind}>
                <td>
                  <When line={line} zone={zone} />
                </td>
                {ofPerson ? null : (
                  <td>
                    {line.person.name}
                    {roleOf(line.person.role) === '' ? null : (
                      <span className={styles['small']}>, {roleOf(line.person.role).toLowerCase()}</span>
                    )}
                  </td>
                )}
                <td>{line.what}</td>
                {ofPerson ? <td>{line.patient?.label ?? ''}</td> : null}
                <td>{line.ward ?? ''}</td>
                <td className={styles['small']}>{line.tablet ?? ''}</td>
                <td>{line.unusual.map(({ words }) => words).join(' ')}</td>
              </tr>
            ))}
          </tbody>
        </table>
      )}
      {read.next === undefined ? null : (
        <Key wide disabled={busy} onClick={() => void readOn()}>
          {busy ? 'Reading…' : 'Read on, earlier'}
        </Key>
      )}
    </div>
  );
}
