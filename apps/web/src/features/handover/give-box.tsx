import type { ReactNode } from 'react';
import { ownerWords } from '@ebbline/core/present';
import type { Directory } from '@ebbline/core/record';
import { timeWords } from '../../shell/day-words.ts';
import { Key } from '../../shared/key.tsx';
import { Mark } from '../../shared/marks.tsx';
import type { HandoverCard, Receiver } from './handover-view.ts';
import styles from './handover.module.css';

interface GiveBoxProps {
  readonly card: HandoverCard;
  readonly zone: string;
  readonly directory: Directory;
  readonly receiver: Receiver | undefined;
  readonly onOffer: () => void;
  readonly onTakeBack: () => void;
}

/** The giver's side: with you until somebody has accepted it. */
export function GiveBox({ card, zone, directory, receiver, onOffer, onTakeBack }: GiveBoxProps): ReactNode {
  const { offer, entry } = card;
  if (offer) {
    return (
      <>
        <p className={styles['state']}>
          <Mark name="with-giver" size={20} />
          Still with you
        </p>
        <p className="quiet">
          Offered to {ownerWords(offer.to, directory)} at {timeWords(offer.atMs, zone)}. Nobody else has it
          until it is read back and accepted.
        </p>
        <Key wide onClick={onTakeBack}>
          Take the offer back
        </Key>
      </>
    );
  }
  return (
    <>
      <p className={styles['state']}>
        <Mark name="with-giver" size={20} />
        With you
      </p>
      <Key wide disabled={receiver === undefined} onClick={onOffer}>
        Offer bed {entry.bed}
      </Key>
      {receiver === undefined ? <p className="quiet not-on-paper">Choose above who takes it.</p> : null}
    </>
  );
}
