import type { ReactNode } from 'react';
import { addressOf } from '../../shell/address.ts';
import type { HandoverCard } from './handover-view.ts';
import styles from './handover.module.css';

const parts = [
  ['S', 'Situation', 'situation'],
  ['B', 'Background', 'background'],
  ['A', 'Assessment', 'assessment'],
  ['R', 'Request', 'request'],
] as const;

/** One patient: who, SBAR to be read aloud, and at the end what can be done. */
export function HandoverCardView({
  card,
  children,
}: {
  readonly card: HandoverCard;
  readonly children: ReactNode;
}): ReactNode {
  const { entry, newEntries } = card;
  return (
    <article className={styles['card']} aria-label={`Bed ${entry.bed}`} data-patient={entry.patient}>
      <header>
        <a href={addressOf('patient', entry.patient)} className={styles['bed']}>
          <span className="heard">Bed </span>
          {entry.bed}
        </a>
        <p>{entry.who}</p>
        <p className={styles['due']}>{entry.due}</p>
        {newEntries > 0 ? (
          <p className={styles['new']}>
            {newEntries} new since {entry.ownerShown} took it
          </p>
        ) : null}
      </header>
      <dl className={styles['sbar']}>
        {parts.map(([letter, name, key]) => (
          <div key={key}>
            <dt>
              <b aria-hidden="true">{letter}</b> {name}
            </dt>
            <dd className="speak">{entry.sbar[key]}</dd>
          </div>
        ))}
      </dl>
      <div className={styles['box']}>{children}</div>
    </article>
  );
}
