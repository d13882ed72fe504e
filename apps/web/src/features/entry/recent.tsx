/** The last things that are known, in one line above the number: so that a slip shows before it is saved. */
import type { ReactNode } from 'react';
import { clockOrDay, volumeWords, whole } from '@ebbline/core/present';
import type { PatientFacts } from '@ebbline/core/facts';
import styles from './entry-form.module.css';

export function Recent({ facts, zone }: { readonly facts: PatientFacts; readonly zone: string }): ReactNode {
  const told =
    facts.lastEmptied?.how === 'told'
      ? [
          {
            atMs: facts.lastEmptied.atMs,
            words:
              facts.lastEmptied.volumeMl === undefined
                ? 'passed, as told'
                : `passed ${whole(facts.lastEmptied.volumeMl)} mL, as told`,
          },
        ]
      : [];
  const events = [
    ...told,
    ...facts.readings.map((one) => ({
      atMs: one.atMs,
      words: one.volumeMl === undefined ? 'no reading' : `reading ${volumeWords(one)}`,
    })),
    ...facts.voids.map((one) => ({
      atMs: one.atMs,
      words: one.volumeMl === undefined ? 'passed, not measured' : `passed ${whole(one.volumeMl)} mL`,
    })),
    ...facts.drains.map((one) => ({
      atMs: one.atMs,
      words: one.volumeMl === undefined ? 'drained' : `drained ${whole(one.volumeMl)} mL`,
    })),
  ]
    .toSorted((a, b) => a.atMs - b.atMs)
    .slice(-3);
  if (events.length === 0)
    return <p className={styles['recent']}>Nothing read, passed or drained here yet.</p>;
  return (
    <ul className={styles['recent']}>
      {events.map((event) => (
        <li key={`${event.atMs} ${event.words}`}>
          <b>{clockOrDay(event.atMs, facts.nowMs, zone)}</b> {event.words}
        </li>
      ))}
    </ul>
  );
}
