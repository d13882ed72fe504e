/** Who this is and why somebody watches: the line that is read before anything is done. */
import type { ReactNode } from 'react';
import { ageWords, clockOrDay, emptiedWords, labels, whole } from '@ebbline/core/present';
import type { PatientFacts } from '@ebbline/core/facts';
import type { Directory } from '@ebbline/core/record';
import styles from './patient.module.css';

const sources = {
  'own-capacity': 'from own capacity',
  unit: 'the unit’s rule',
  prescriber: 'set by a prescriber',
} as const;

const declinedWords = { 'bladder-ultrasound': 'the look', catheter: 'a catheter' } as const;

export function PatientHead({
  facts,
  zone,
  directory,
  here,
}: {
  readonly facts: PatientFacts;
  readonly zone: string;
  readonly directory: Directory;
  /** The ward that the page stands in; another ward of the patient is named. */
  readonly here: string;
}): ReactNode {
  const emptied = emptiedWords(facts, zone);
  const inOuts = facts.drains.filter((one) => one.route === 'in-out').length;
  const { watch } = facts;
  const parts: readonly (readonly [string, string])[] = [
    [
      'Watched because',
      watch.state === 'none'
        ? 'nobody is on watch here'
        : `${watch.setting ? labels.settings[watch.setting] : ''}: ${watch.reason ?? ''}`,
    ],
    ['Since', watch.openedAtMs === undefined ? '–' : clockOrDay(watch.openedAtMs, facts.nowMs, zone)],
    [
      'Limit',
      `${whole(facts.limitMl)} mL, ${sources[facts.limitSource]}${facts.ownCapacityMl === undefined ? '' : ` of ${whole(facts.ownCapacityMl)} mL`}`,
    ],
    ['Emptied', emptied.time === '' ? emptied.how : `${emptied.time}, ${emptied.how}`],
    ['In-outs', String(inOuts)],
    [
      'Cautions',
      facts.cautions.length === 0
        ? 'none recorded'
        : facts.cautions.map((one) => labels.cautions[one]).join(', '),
    ],
    ...(facts.declined.length === 0
      ? []
      : [['Declined', facts.declined.map((topic) => declinedWords[topic]).join(', ')] as const]),
  ];
  const elsewhere =
    facts.ward === here ? undefined : directory.wards.find((one) => one.id === facts.ward)?.name;
  return (
    <header className={styles['patientHead']}>
      <h1>
        {elsewhere === undefined ? '' : `${elsewhere}, `}
        {elsewhere === undefined ? 'Bed' : 'bed'} {facts.bed}{' '}
        <span className={styles['initials']}>
          {facts.initials}
          {ageWords(facts, zone) === '' ? '' : `, ${ageWords(facts, zone)}`}
        </span>
        {watch.state === 'paused' ? (
          <span className={styles['state']}>paused</span>
        ) : watch.state === 'closed' ? (
          <span className={styles['state']}>watch ended</span>
        ) : null}
      </h1>
      <dl className={styles['about']}>
        {parts.map(([label, words]) => (
          <div key={label}>
            <dt className="label">{label}</dt>
            <dd>{words}</dd>
          </div>
        ))}
      </dl>
    </header>
  );
}
