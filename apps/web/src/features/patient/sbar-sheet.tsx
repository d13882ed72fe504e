/** For the telephone: four short paragraphs in the order in which they are said, and what to do with the answer. */
import type { ReactNode } from 'react';
import { sbarOf, type Sbar } from '@ebbline/core/present';
import type { PatientFacts } from '@ebbline/core/facts';
import type { Directory } from '@ebbline/core/record';
import { KeyLink } from '../../shared/key.tsx';
import { Plate } from '../../shared/plate.tsx';
import { addressOf } from '../../shell/address.ts';
import { secondsAloud, telephoneOf } from './telephone.ts';
import styles from './patient.module.css';

function Parts({ sbar, small }: { readonly sbar: Sbar; readonly small?: boolean }): ReactNode {
  const parts = [
    ['Situation', sbar.situation],
    ['Background', sbar.background],
    ['Assessment', sbar.assessment],
    ['Request', sbar.request],
  ] as const;
  return (
    <dl className={small ? styles['sbarWhole'] : styles['sbar']}>
      {parts.map(([name, words]) => (
        <div key={name}>
          <dt>{name}</dt>
          <dd className="speak">{words}</dd>
        </div>
      ))}
    </dl>
  );
}

export function SbarSheet({
  facts,
  zone,
  directory,
}: {
  readonly facts: PatientFacts;
  readonly zone: string;
  readonly directory: Directory;
}): ReactNode {
  const sbar = telephoneOf(facts, zone);
  return (
    <Plate title="To say on the telephone" note={`about ${secondsAloud(sbar)} s read aloud`}>
      <Parts sbar={sbar} />
      <div className={styles['rowKeys']}>
        <KeyLink look="main" href={addressOf('entry', facts.patient, 'call-made')}>
          Call made
        </KeyLink>
        <KeyLink href={addressOf('entry', facts.patient, 'call-answered')}>Call answered</KeyLink>
        <KeyLink href={addressOf('patient', facts.patient)}>Back to the patient</KeyLink>
      </div>
      <details className={styles['whole']}>
        <summary>The whole, if they ask</summary>
        <Parts sbar={sbarOf(facts, zone, directory)} small />
      </details>
    </Plate>
  );
}
