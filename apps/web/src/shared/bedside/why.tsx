/**
 * "Why?" beside what the estimate says: opens the sum in words and the entries behind it. Worked out when it is opened,
 * and again when the facts change while it is open.
 */
import { useId, useMemo, useState, type ReactNode } from 'react';
import type { Why as Reasons } from '@ebbline/core/present';
import { Key } from '../key.tsx';
import styles from './why.module.css';

const volumeWords = (volume: string): string =>
  volume === '' || /[a-z]$/.test(volume) ? volume : `${volume} mL`;

function Opened({ explain }: { readonly explain: () => Reasons | undefined }): ReactNode {
  const why = useMemo(() => explain(), [explain]);
  if (why === undefined) return <p className="quiet">Too little is recorded to say more.</p>;
  return (
    <>
      {why.sum.map((sentence) => (
        <p key={sentence} className="speak">
          {sentence}
        </p>
      ))}
      {why.rows.length === 0 ? null : (
        <table className={styles['rows']}>
          <caption className="label">The entries behind it, latest first</caption>
          <thead className="heard">
            <tr>
              <th scope="col">When</th>
              <th scope="col">What</th>
              <th scope="col">Volume</th>
              <th scope="col">Who</th>
            </tr>
          </thead>
          <tbody>
            {why.rows.map((row) => (
              <tr key={row.id}>
                <th scope="row">{row.time}</th>
                <td>{row.what}</td>
                <td>{volumeWords(row.volume)}</td>
                <td>{row.by}</td>
              </tr>
            ))}
          </tbody>
        </table>
      )}
    </>
  );
}

/** @param of what is explained, for who hears the key and does not see what it stands beside */
export function Why({
  of,
  explain,
}: {
  readonly of: string;
  /** The same function as long as nothing changes. */
  readonly explain: () => Reasons | undefined;
}): ReactNode {
  const id = useId();
  const [open, setOpen] = useState(false);
  return (
    <div className={styles['why']} data-why={of}>
      <Key
        look="plain"
        aria-expanded={open}
        aria-controls={open ? id : undefined}
        aria-label={`${open ? 'Close' : 'Why?'} ${of}`}
        onClick={() => setOpen(!open)}
      >
        {open ? 'Close' : 'Why?'}
      </Key>
      {open ? (
        <section id={id} className={styles['opened']} aria-label={`Why: ${of}`}>
          <Opened explain={explain} />
        </section>
      ) : null}
    </div>
  );
}
