import { useEffect, useState } from 'react';
import type { BoardRow } from '@ebbline/core/present';

const stillMs = 2000;

/** Each row of `held` in its old place with its new content; new rows at the end, gone rows left out. */
export function keepPlaces(held: readonly BoardRow[], next: readonly BoardRow[]): readonly BoardRow[] {
  const byPatient = new Map(next.map((row) => [row.patient, row]));
  const kept = held.flatMap((row) => {
    const fresh = byPatient.get(row.patient);
    byPatient.delete(row.patient);
    return fresh ? [fresh] : [];
  });
  return [...kept, ...byPatient.values()];
}

const orderOf = (rows: readonly BoardRow[]): string => rows.map((row) => row.patient).join(' ');
const setOf = (rows: readonly BoardRow[]): string =>
  rows
    .map((row) => row.patient)
    .toSorted()
    .join(' ');

/** Rows take a new order only when nobody has touched the page for two seconds, so that none moves under a thumb. */
export function useSettled(next: readonly BoardRow[]): readonly BoardRow[] {
  const [held, setHeld] = useState(next);
  const [still, setStill] = useState(true);

  useEffect(() => {
    let timer: ReturnType<typeof setTimeout> | undefined;
    const touch = (): void => {
      setStill(false);
      clearTimeout(timer);
      timer = setTimeout(() => setStill(true), stillMs);
    };
    addEventListener('pointerdown', touch, { passive: true });
    return () => {
      removeEventListener('pointerdown', touch);
      clearTimeout(timer);
    };
  }, []);

  // Patients who come or go are shown at once; only a change of order waits.
  const free = still || setOf(held) !== setOf(next);
  if (free && orderOf(held) !== orderOf(next)) setHeld(next);
  return free ? next : keepPlaces(held, next);
}
