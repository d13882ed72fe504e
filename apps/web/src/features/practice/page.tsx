/**
 * `#/practice`: exercises on simulated pictures and the results so far; `#/practice/trace/cut/41` is one exercise.
 */
import type { ReactNode } from 'react';
import { isRefusal } from '@ebbline/core/quantity';
import { mayWrite, practiceExercises } from '@ebbline/core/record';
import { Key, KeyLink } from '../../shared/key.tsx';
import { Notice, Plate, RefusalNotice } from '../../shared/plate.tsx';
import { addressOf, goTo } from '../../shell/address.ts';
import { useMe } from '../../shell/hooks.ts';
import type { PageProps } from '../../shell/page.ts';
import { choices, chosenBy, mostSeed } from './choose-exercise.ts';
import { ExercisePage } from './exercise-page.tsx';
import { Results } from './results.tsx';
import { exerciseWords } from './words.ts';
import styles from './practice.module.css';

/** A number that this tablet draws; the address then says it, so that the same exercise can be opened again. */
const drawSeed = (): string => String((crypto.getRandomValues(new Uint32Array(1))[0] ?? 0) % (mostSeed + 1));

const about: Readonly<Record<(typeof practiceExercises)[number], string>> = {
  trace:
    'Draw the outline of the bladder on each plane, or put right what the program drew. You then see where and by how much you were off, in millimetres and in mL.',
  judge:
    'Look at the planes and say what they show: is it the bladder, is the whole of it in view, and if not, what hides a part? You then see what was true and what on the pictures shows it.',
};

function Home(): ReactNode {
  const me = useMe();
  return (
    <div className={styles['page']}>
      <h1>Practice on simulated pictures</h1>
      <Notice>
        The pictures are made by a program; no patient is in them. Doing well here is no competence by itself:
        your unit's own assessor decides.
      </Notice>
      {practiceExercises.map((exercise) => (
        <Plate key={exercise} title={exerciseWords[exercise]}>
          <p className="speak">{about[exercise]}</p>
          <ul className={styles['choices']}>
            {choices[exercise].map(({ name, words }) => (
              <li key={name}>
                <Key wide onClick={() => goTo('practice', exercise, name, drawSeed())}>
                  {words}
                </Key>
              </li>
            ))}
          </ul>
        </Plate>
      ))}
      {mayWrite(me.role, 'practised') ? null : (
        <p className="quiet">Your own exercises are not kept: your role records no practice.</p>
      )}
      <Results />
    </div>
  );
}

export default function PracticePage({ path }: PageProps): ReactNode {
  if (path.length === 0) return <Home />;
  const chosen = chosenBy(path);
  if (isRefusal(chosen))
    return (
      <div className={styles['page']}>
        <RefusalNotice refusal={chosen} />
        <KeyLink href={addressOf('practice')}>All exercises</KeyLink>
      </div>
    );
  return (
    <ExercisePage
      key={path.join('/')}
      chosen={chosen}
      another={() => goTo('practice', chosen.exercise, chosen.choice.name, drawSeed())}
    />
  );
}
