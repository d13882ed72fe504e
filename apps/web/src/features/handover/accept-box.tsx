/** Reading back: each piece is said aloud and ticked; only then can the patient be accepted. */
import { useState, type ReactNode } from 'react';
import { Key } from '../../shared/key.tsx';
import { Mark } from '../../shared/marks.tsx';
import { readBackPieces, type HandoverCard } from './handover-view.ts';
import styles from './handover.module.css';

interface AcceptBoxProps {
  readonly card: HandoverCard;
  readonly zone: string;
  readonly giver: string;
  readonly onAccept: (readBack: string) => void;
}

export function AcceptBox({ card, zone, giver, onAccept }: AcceptBoxProps): ReactNode {
  const pieces = readBackPieces(card, zone);
  const [said, setSaid] = useState<ReadonlySet<string>>(new Set());
  const all = pieces.every((piece) => said.has(piece));
  const toggle = (piece: string): void => {
    const next = new Set(said);
    if (!next.delete(piece)) next.add(piece);
    setSaid(next);
  };
  return (
    <>
      <p className={styles['state']}>
        <Mark name={said.size === 0 ? 'with-giver' : 'read-back'} size={20} />
        {said.size === 0
          ? `Still with ${giver}`
          : all
            ? 'Read back, not yet accepted'
            : `Read back ${said.size} of ${pieces.length}`}
      </p>
      {all ? null : <p className="quiet not-on-paper">Say each line back, and touch it. Then accept.</p>}
      <fieldset aria-label={`Read back bed ${card.entry.bed}`} className={styles['pieces']}>
        {pieces.map((piece) => (
          <Key key={piece} chosen={said.has(piece)} wide onClick={() => toggle(piece)}>
            {piece}
          </Key>
        ))}
      </fieldset>
      <Key look="main" wide disabled={!all} onClick={() => onAccept(pieces.join('; '))}>
        Accept bed {card.entry.bed}
      </Key>
    </>
  );
}
