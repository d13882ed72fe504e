/** Exercise: say what the planes show; then see what is true and what on the pictures shows it. */
import { useState, type ReactNode } from 'react';
import { whole } from '@ebbline/core/present';
import type { PayloadOf, PracticeQuestion } from '@ebbline/core/record';
import { hiders, type PracticeSet } from '@ebbline/simulate';
import { Key } from '../../shared/key.tsx';
import { Plate } from '../../shared/plate.tsx';
import { PlaneStage } from '../../shared/planes/plane-stage.tsx';
import type { Chosen } from './choose-exercise.ts';
import {
  asked,
  hiderWords,
  isAnswered,
  judgementEntry,
  markJudgement,
  type Judgement,
  type Marked,
} from './marking.ts';
import { PlaneStrip } from './plane-strip.tsx';
import { takeFocus } from './take-focus.ts';
import { TrueKey, TrueOutline } from './true-outline.tsx';
import { levelWords, questionWords } from './words.ts';
import styles from './practice.module.css';

function Answers({
  question,
  judgement,
  answer,
}: {
  readonly question: PracticeQuestion;
  readonly judgement: Judgement;
  readonly answer: (next: Judgement) => void;
}): ReactNode {
  if (question === 'what-hides') {
    return hiders.map((one) =>
      one === 'nothing' ? null : (
        <Key key={one} chosen={judgement.hides === one} onClick={() => answer({ ...judgement, hides: one })}>
          {hiderWords[one]}
        </Key>
      ),
    );
  }
  const field = { 'bladder-there': 'there', 'whole-in-view': 'whole', 'other-fluid': 'otherFluid' }[
    question
  ] as 'there' | 'whole' | 'otherFluid';
  return [true, false].map((value) => (
    <Key
      key={String(value)}
      chosen={judgement[field] === value}
      onClick={() => answer({ ...judgement, [field]: value })}
    >
      {value ? 'Yes' : 'No'}
    </Key>
  ));
}

export function Judge({
  chosen,
  made,
  keep,
}: {
  readonly chosen: Chosen;
  readonly made: PracticeSet;
  readonly keep: (payload: PayloadOf<'practised'>) => void;
}): ReactNode {
  const { set, truth } = made.phantom;
  const [shown, setShown] = useState(0);
  const [judgement, setJudgement] = useState<Judgement>({});
  const [marked, setMarked] = useState<readonly Marked[]>();
  const open = set.planes[shown];
  const finish = (): void => {
    const rows = markJudgement(judgement, made.truth);
    setMarked(rows);
    keep(judgementEntry(chosen, rows, truth.volumeMl));
  };
  const right = marked?.filter((one) => one.right).length ?? 0;
  return (
    <div className={styles['columns']}>
      <div className={styles['pictures']}>
        <PlaneStrip set={set} shown={shown} show={setShown} />
        <div className={styles['well']}>
          {open ? (
            <PlaneStage
              plane={open}
              frame={set.geometry}
              name={`Plane ${shown + 1} of ${set.planes.length}, ultrasound picture`}
            >
              {(unitsPerPx) =>
                marked ? <TrueOutline made={made} plane={shown} unitsPerPx={unitsPerPx} /> : null
              }
            </PlaneStage>
          ) : null}
          {marked ? (
            <ul className={styles['key']} aria-label="Key to the outlines">
              <TrueKey />
            </ul>
          ) : null}
        </div>
      </div>
      {marked ? (
        <div ref={takeFocus} tabIndex={-1}>
          <Plate title="What was true">
            <p className="speak">
              {right} of {marked.length} right. It was: {levelWords[chosen.level]}
              {truth.bladderPresent ? `, ${whole(truth.volumeMl)} mL` : ''}.
            </p>
            <ul className={styles['marks']}>
              {marked.map((one) => (
                <li key={one.question}>
                  <h3>{questionWords[one.question]}</h3>
                  <p>
                    <b>{one.right ? 'Right' : 'Not so'}:</b> you said {one.theirs}
                    {one.right ? '.' : `; true is: ${one.truth}.`}
                  </p>
                  {one.shownBy === '' ? null : <p className="speak">{one.shownBy}</p>}
                </li>
              ))}
            </ul>
          </Plate>
        </div>
      ) : (
        <div className={styles['questions']}>
          {asked(judgement).map((question) => (
            <fieldset key={question}>
              <legend>{questionWords[question]}</legend>
              <div className={styles['answers']}>
                <Answers question={question} judgement={judgement} answer={setJudgement} />
              </div>
            </fieldset>
          ))}
          <Key look="main" disabled={!isAnswered(judgement)} onClick={finish}>
            Show what is true
          </Key>
        </div>
      )}
    </div>
  );
}
