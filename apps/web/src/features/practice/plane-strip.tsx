/** The planes as stamps, one of them shown large. */
import type { ReactNode } from 'react';
import type { PlaneOutline, PlaneSet } from '@ebbline/imaging';
import { SmallPlane } from '../../shared/planes/small-plane.tsx';
import styles from './practice.module.css';

export function PlaneStrip({
  set,
  shown,
  show,
  outlineOf,
  wordsOf,
}: {
  readonly set: PlaneSet;
  readonly shown: number;
  readonly show: (plane: number) => void;
  readonly outlineOf?: (plane: number) => PlaneOutline | undefined;
  readonly wordsOf?: (plane: number) => string;
}): ReactNode {
  return (
    <ol className={styles['strip']} aria-label="Planes">
      {set.planes.map((plane, index) => {
        const words = wordsOf?.(index);
        return (
          <li key={index}>
            <button
              type="button"
              aria-pressed={index === shown}
              aria-label={`Plane ${index + 1}${words === undefined ? '' : `, ${words}`}`}
              onClick={() => show(index)}
            >
              <SmallPlane plane={plane} frame={set.geometry} outline={outlineOf?.(index)} />
              <span>
                <b>{index + 1}</b> {words}
              </span>
            </button>
          </li>
        );
      })}
    </ol>
  );
}
