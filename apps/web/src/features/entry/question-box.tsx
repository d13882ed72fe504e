/** The question before a save, its two answers, and why it is asked. */
import { useCallback, type ReactNode } from 'react';
import type { PatientFacts, Question } from '@ebbline/core/facts';
import { whySpan } from '@ebbline/core/present';
import { Why } from '../../shared/bedside/why.tsx';
import { Key } from '../../shared/key.tsx';
import { useDirectory } from '../../shell/hooks.ts';
import styles from './entry-form.module.css';

export function QuestionBox({
  question,
  facts,
  zone,
  change,
  keep,
}: {
  readonly question: Question;
  readonly facts: PatientFacts;
  readonly zone: string;
  readonly change: () => void;
  readonly keep: () => void;
}): ReactNode {
  const directory = useDirectory();
  const explain = useCallback(
    () => whySpan(question, facts, zone, directory),
    [directory, facts, question, zone],
  );
  return (
    <div className={styles['question']} role="alert">
      <p className="speak">
        <b>{question.sum}</b> {question.check}
      </p>
      <div className={styles['answers']}>
        <Key data-change="" onClick={change}>
          Change it
        </Key>
        <Key onClick={keep}>Save as it stands</Key>
      </div>
      <Why of="This question" explain={explain} />
    </div>
  );
}
