import { useState, type ReactNode } from 'react';
import { clockTime } from '@ebbline/core/quantity';
import { labelOfKind } from '../shared/kind-words.ts';
import { Dialog } from '../shared/dialog.tsx';
import { Key } from '../shared/key.tsx';
import { RefusalNotice } from '../shared/plate.tsx';
import { addressOf } from './address.ts';
import { useNetwork, useReplica, useThisWard } from './hooks.ts';
import { networkWords } from './network-words.ts';
import { useSession } from './session-context.ts';
import styles from './frame.module.css';

/** One quiet line, never a pop-up, never in the way. */
export function NetworkLine(): ReactNode {
  const network = useNetwork();
  const replica = useReplica();
  const { zone } = useThisWard();
  const session = useSession();
  const [showRefused, setShowRefused] = useState(false);
  const [seenAway, setSeenAway] = useState<number>();
  const words = networkWords(
    network,
    zone,
    (person) => replica.directory().people.find((one) => one.id === person)?.initials ?? person,
  );
  return (
    <>
      <output className={styles['status']}>
        {words ? (
          <span className={styles['line']}>
            <span className={styles['swatch']} />
            <span>
              <strong>{words.strong}</strong>
              {words.rest}
            </span>
          </span>
        ) : null}
        {session.lasting ? null : (
          <span className={styles['line']}>
            <span className={styles['swatch']} />
            <span>
              <strong>This browser keeps nothing.</strong> What is not sent is lost when the page is closed.
            </span>
          </span>
        )}
      </output>
      {network.online && network.lastAway && network.lastAway.fromMs !== seenAway ? (
        <p className={styles['line']}>
          <span className={styles['swatch']} />
          <span>
            <strong>Back.</strong> Away from {clockTime(network.lastAway.fromMs, zone)} to{' '}
            {clockTime(network.lastAway.toMs, zone)}.
          </span>
          <a
            href={addressOf('meanwhile', String(network.lastAway.fromMs))}
            onClick={() => setSeenAway(network.lastAway?.fromMs)}
          >
            What changed meanwhile
          </a>
          <Key look="plain" onClick={() => setSeenAway(network.lastAway?.fromMs)}>
            Put away
          </Key>
        </p>
      ) : null}
      {network.refused.length > 0 ? (
        <p className={styles['line']}>
          <span className={styles['swatch']} />
          <strong>
            {network.refused.length === 1 ? '1 entry was' : `${network.refused.length} entries were`} not
            accepted by the ward's record.
          </strong>
          <Key look="plain" onClick={() => setShowRefused(true)}>
            See why
          </Key>
        </p>
      ) : null}
      {showRefused && network.refused.length > 0 ? (
        <Dialog title="Not accepted by the ward's record" onClose={() => setShowRefused(false)}>
          <ul className={styles['me']}>
            {network.refused.map(({ entry, refusal, held }) => (
              <li key={entry.id} className={styles['me']}>
                <p>
                  {labelOfKind(entry.kind)}, bed {replica.factsOf(entry.patient).bed || 'unknown'}
                </p>
                <RefusalNotice refusal={refusal} />
                {held?.vouched === false ? (
                  <Key onClick={() => void replica.claimHeld(entry.id)}>It is mine; keep it</Key>
                ) : null}
                <Key onClick={() => void replica.dismissRefused(entry.id)}>
                  Take it off this tablet; I enter it again
                </Key>
              </li>
            ))}
          </ul>
        </Dialog>
      ) : null}
    </>
  );
}
