/** For the telephone: four short paragraphs in the order in which they are said, and what to do with the answer. */
import type { ReactNode } from 'react';
import { sbarOf } from '@ebbline/core/present';
import type { PatientFacts } from '@ebbline/core/facts';
import type { Directory } from '@ebbline/core/record';
import { KeyLink } from '../../shared/key.tsx';
import { Plate } from '../../shared/plate.tsx';
import { addressOf } from '../../shell/address.ts';
import styles from './patient.module.css';

/** Words said aloud in a minute on the telephone: a slow, clear voice. */
export const wordsAMinute = 170; // S-patient-speaking-rate

export function SbarSheet({
  facts,
  zone,
  directory,
}: {
  readonly facts: PatientFacts;
  readonly zone: string;
  readonly directory: Directory;
}): ReactNode {
  const sbar = sbarOf(facts, zone, directory);
  const parts = [
    ['Situation', sbar.situation],
    ['Background', sbar.background],
    ['Assessment', sbar.assessment],
    ['Request', sbar.request],
  ] as const;
  const seconds = Math.round(
    (parts.map(([, words]) => words.split(/\s+/).length).reduce((sum, count) => sum + count, 0) /
      wordsAMinute) *
      60,
  );
  return (
    <Plate title="To say on the telephone" note={`about ${seconds} s read aloud`}>
      <dl className={styles['sbar']}>
        {parts.map(([name, words]) => (
          <div key={name}>
            <dt>{name}</dt>
            <dd className="speak">{words}</dd>
          </div>
        ))}
      </dl>
      <div className={styles['rowKeys']}>
        <KeyLink look="main" href={addressOf('entry', facts.patient, 'call-made')}>
          Call made
        </KeyLink>
        <KeyLink href={addressOf('entry', facts.patient, 'call-answered')}>Call answered</KeyLink>
        <KeyLink href={addressOf('patient', facts.patient)}>Back to the patient</KeyLink>
      </div>
    </Plate>
  );
}
