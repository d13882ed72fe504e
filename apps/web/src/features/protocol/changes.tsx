/** What a draft changes, for the person who makes it and the one who will sign. */
import type { ReactNode } from 'react';
import { changesBetween, starterProtocols } from '@ebbline/protocol';
import { useProtocols } from '../../shell/hooks.ts';
import { Key } from '../../shared/key.tsx';
import type { Draft } from './draft.ts';
import styles from './editor.module.css';

export function Changes({
  draft,
  onGoTo,
}: {
  readonly draft: Draft;
  readonly onGoTo: (rowId: string) => void;
}): ReactNode {
  const { id, version } = draft.basedOn;
  const versions = useProtocols();
  const before = [...versions.map((one) => one.protocol), ...starterProtocols].find(
    (one) => one.id === id && one.version === version,
  );
  if (!before)
    return <p>The version that this draft was made from is not on this tablet, so no changes can be told.</p>;
  const changes = changesBetween(before, draft.protocol);
  if (changes.length === 0) return <p>Nothing is changed so far.</p>;
  return (
    <ul className={styles['changes']} data-changes>
      {changes.map((one) => (
        <li key={`${one.decision} ${one.rowId} ${one.words}`}>
          <p>
            <strong>{one.rowId}</strong>: {one.words}.
          </p>
          {one.here ? <Key onClick={() => onGoTo(one.rowId)}>Go to row {one.rowId}</Key> : null}
        </li>
      ))}
    </ul>
  );
}
