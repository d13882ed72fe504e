/** What the outlines come to: volume or bound, interval, reasons, and what a person can do with it. */
import { useState, type ReactNode } from 'react';
import { theirs, whole } from '@ebbline/core/present';
import type { PatientFacts } from '@ebbline/core/facts';
import type { PayloadOf } from '@ebbline/core/record';
import type { VolumeResult } from '@ebbline/imaging';
import { Key, KeyLink } from '../../shared/key.tsx';
import { Plate, RefusalNotice } from '../../shared/plate.tsx';
import { addressOf } from '../../shell/address.ts';
import { IntervalBar } from './interval-bar.tsx';
import { relations, shortWords } from './keep.ts';
import styles from './images.module.css';

type Relation = PayloadOf<'reading'>['relation'];

/** Before or after a void is never chosen for anybody. */
export function RelationAndKeep({
  words,
  keep,
  children,
}: {
  readonly words: string;
  readonly keep: (relation: Relation) => void;
  readonly children?: ReactNode;
}): ReactNode {
  const [relation, setRelation] = useState<Relation>();
  return (
    <div className={styles['keys']}>
      <fieldset className={styles['relation']}>
        <legend className="label">Before or after a void?</legend>
        {relations.map(([word, label]) => (
          <Key key={word} chosen={relation === word} onClick={() => setRelation(word)}>
            {label}
          </Key>
        ))}
      </fieldset>
      <Key
        look="main"
        disabled={relation === undefined}
        onClick={() => relation !== undefined && keep(relation)}
      >
        Keep as a reading: {words}
      </Key>
      {children}
    </div>
  );
}

export function Caution(): ReactNode {
  return (
    <p className="label" data-caution="">
      For looking again. It advises only; the clinician decides, and the local protocol comes first. Not a
      medical device: your unit must check it against drained volumes before anybody relies on it.
    </p>
  );
}

function figureWords(result: VolumeResult): ReactNode {
  if (result.answer === 'none-seen') return 'no bladder seen';
  if (result.answer === 'refused') return 'no volume';
  const figureMl = result.answer === 'at-least' ? (result.boundMl ?? 0) : (result.volumeMl ?? 0);
  return (
    <>
      {result.answer === 'at-least' ? <small>at least </small> : null}
      {whole(figureMl)} <small>mL</small>
    </>
  );
}

function sentence(result: VolumeResult, facts: PatientFacts): string {
  const { answer, interval, volumeMl } = result;
  if (answer === 'none-seen')
    return 'No bladder was found. This does not exclude a full one that was missed.';
  if (!interval) return '';
  const limit =
    interval.loMl < facts.limitMl && interval.hiMl > facts.limitMl
      ? `: on both sides of ${theirs(facts)} limit of ${whole(facts.limitMl)} mL`
      : '';
  const range = `ine times in ten between ${whole(interval.loMl)} and ${whole(interval.hiMl)} mL${limit}.`;
  return answer === 'at-least'
    ? `That much is in view. Completed by guess it is ${whole(volumeMl ?? 0)} mL. N${range}`
    : `N${range}`;
}

export function Answer({
  result,
  changed,
  patient,
  facts,
  mayKeep,
  keep,
  setAside,
}: {
  readonly result: VolumeResult;
  /** "2 of 12 planes changed by you", or empty. */
  readonly changed: string;
  readonly patient: string;
  readonly facts: PatientFacts;
  readonly mayKeep: boolean;
  readonly keep: (relation: Relation) => void;
  readonly setAside: () => void;
}): ReactNode {
  const refused = result.answer === 'refused';
  return (
    <div className={styles['answer']}>
      <Plate title="Volume from these images">
        <p className={styles['figure']} data-volume="">
          {figureWords(result)}
        </p>
        {result.refusal ? <RefusalNotice refusal={result.refusal} /> : null}
        <p className="speak">{sentence(result, facts)}</p>
        <IntervalBar result={result} limitMl={facts.limitMl} />
        {changed === '' ? null : <p className="label">{changed}</p>}
      </Plate>
      {refused && result.reasons.length === 0 ? null : (
        <Plate title="Reasons to doubt it">
          {result.reasons.length === 0 ? (
            <p className="speak">None was found. That does not exclude any.</p>
          ) : (
            <ol className={`speak ${styles['reasons'] ?? ''}`}>
              {result.reasons.map((one) => (
                <li key={one.code}>{one.words}</li>
              ))}
            </ol>
          )}
        </Plate>
      )}
      {mayKeep ? (
        refused ? (
          <div className={styles['keys']}>
            <KeyLink href={addressOf('entry', patient, 'calipers')}>Enter three diameters</KeyLink>
            <KeyLink href={addressOf('entry', patient, 'reading')}>Enter the volume</KeyLink>
            <Key onClick={setAside}>Set the images aside</Key>
          </div>
        ) : (
          <RelationAndKeep words={shortWords(result)} keep={keep}>
            <KeyLink href={addressOf('entry', patient, 'reading')}>Measure again</KeyLink>
            <Key onClick={setAside}>Set the images aside</Key>
          </RelationAndKeep>
        )
      ) : null}
      <Caution />
    </div>
  );
}
