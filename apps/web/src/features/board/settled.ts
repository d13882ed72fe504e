import { useEffect, useRef, useState } from 'react';
import type { BoardRow } from '@ebbline/core/present';
import { nowMs } from '../../shell/clock.ts';

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

/** Rows take a new order only when nobody has touched the page for two seconds, so that none moves under a thumb. */
export function useSettled(next: readonly BoardRow[]): readonly BoardRow[] {
  const shown = useRef<readonly BoardRow[]>(next);
  const touchedMs = useRef(0);
  const [, settle] = useState(0);
  const order = next.map((row) => row.patient).join(' ');

  useEffect(() => {
    let timer: ReturnType<typeof setTimeout> | undefined;
    const touch = (): void => {
      touchedMs.current = nowMs();
      clearTimeout(timer);
      timer = setTimeout(() => settle((count) => count + 1), stillMs);
    };
    addEventListener('pointerdown', touch, { passive: true });
    return () => {
      removeEventListener('pointerdown', touch);
      clearTimeout(timer);
    };
  }, []);

  const sameOrder = shown.current.map((row) => row.patient).join(' ') === order;
  const sameSet = shown.current.length === next.length && shown.current.every((row) => next.some((other) => other.patient === row.patient));
  shown.current = sameOrder || !sameSet || nowMs() - touchedMs.current >= stillMs ? next : keepPlaces(shown.current, next);
  return shown.current;
}
