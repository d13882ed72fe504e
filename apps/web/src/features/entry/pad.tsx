/** Number pad: a ruled grid, Save over three rows under the right thumb, or the left when that was chosen. */
import type { ReactNode } from 'react';
import type { PadKey } from './keypad.ts';
import styles from './pad.module.css';

export interface SideKey {
  readonly words: string;
  readonly chosen: boolean;
  readonly act: () => void;
}

interface PadProps {
  readonly press: (key: PadKey) => void;
  /** The two keys beside the nought; the nought is wide when there are none. */
  readonly left?: SideKey;
  readonly right?: SideKey;
  readonly save: () => void;
  readonly saveWords: string;
  readonly saveRest: string;
  readonly busy: boolean;
  readonly mirrored: boolean;
}

const digits: readonly PadKey[] = ['7', '8', '9', '4', '5', '6', '1', '2', '3'];

function Side({ side, place }: { readonly side: SideKey; readonly place: string | undefined }): ReactNode {
  return (
    <button
      type="button"
      className={[styles['side'], place, side.chosen && styles['chosen']].filter(Boolean).join(' ')}
      aria-pressed={side.chosen}
      onClick={side.act}
    >
      {side.words}
    </button>
  );
}

export function Pad({ press, left, right, save, saveWords, saveRest, busy, mirrored }: PadProps): ReactNode {
  return (
    <fieldset
      className={[styles['pad'], mirrored && styles['mirrored']].filter(Boolean).join(' ')}
      aria-label="Number pad"
    >
      {digits.map((digit) => (
        <button
          key={digit}
          type="button"
          className={[styles['digit'], styles[`d${digit}`]].join(' ')}
          onClick={() => press(digit)}
        >
          {digit}
        </button>
      ))}
      {left ? <Side side={left} place={styles['leftOfNought']} /> : null}
      <button
        type="button"
        className={[
          styles['digit'],
          styles['nought'],
          !left && styles['wideLeft'],
          !right && styles['wideRight'],
        ]
          .filter(Boolean)
          .join(' ')}
        onClick={() => press('0')}
      >
        0
      </button>
      {right ? <Side side={right} place={styles['rightOfNought']} /> : null}
      <button
        type="button"
        className={[styles['side'], styles['erase']].join(' ')}
        onClick={() => press('erase')}
      >
        Erase
      </button>
      <button type="button" className={styles['save']} onClick={save} disabled={busy} data-save="">
        <span className={styles['saveWord']}>{saveWords}</span>
        <span className={styles['saveRest']}>{saveRest}</span>
      </button>
    </fieldset>
  );
}

/** The same Save for forms without a number, alone at the foot, under the same thumb. */
export function SaveFoot({
  save,
  saveWords,
  busy,
  mirrored,
}: Pick<PadProps, 'save' | 'saveWords' | 'busy' | 'mirrored'>): ReactNode {
  return (
    <div className={[styles['foot'], mirrored && styles['footMirrored']].filter(Boolean).join(' ')}>
      <button type="button" className={styles['save']} onClick={save} disabled={busy} data-save="">
        <span className={styles['saveWord']}>{saveWords}</span>
      </button>
    </div>
  );
}
