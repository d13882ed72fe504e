/** `#/connections`: the wires to the hospital's systems, for administrators. It holds nothing about patients. */
import { useEffect, useState, type ReactNode } from 'react';
import { Key } from '../../shared/key.tsx';
import { Empty, Notice, Plate } from '../../shared/plate.tsx';
import { dayWords, timeWords } from '../../shell/day-words.ts';
import styles from './connections.module.css';

interface FeedMessages {
  readonly open: boolean;
  readonly head: number;
  readonly messages: readonly {
    readonly number: number;
    readonly receivedAt: string;
    readonly state: 'used' | 'refused';
    readonly type: string;
    readonly words: string;
  }[];
}
interface Results {
  readonly open: boolean;
  readonly waiting: 'nothing' | 'some';
  readonly trouble?: string;
  readonly lastSentAt?: string;
  readonly aside: readonly {
    readonly sequence: number;
    readonly entry: string;
    readonly words: string;
    readonly at: string;
  }[];
}
interface Wires {
  readonly feed: FeedMessages;
  readonly results: Results;
}

const newest = 50;
const zone = Intl.DateTimeFormat().resolvedOptions().timeZone;
const when = (instant: string): string => {
  const atMs = Date.parse(instant);
  return `${dayWords(atMs, zone)}, ${timeWords(atMs, zone)}`;
};

async function ask<Value>(path: string): Promise<Value | 'refused'> {
  const answer = await fetch(path, { credentials: 'same-origin', cache: 'no-store' });
  return answer.ok ? ((await answer.json()) as Value) : 'refused';
}

async function wires(): Promise<Wires | 'refused'> {
  const [feed, results] = await Promise.all([
    ask<FeedMessages>(`/api/feed/messages?last=${newest}`),
    ask<Results>('/api/results'),
  ]);
  return feed === 'refused' || results === 'refused' ? 'refused' : { feed, results };
}

function MessagesIn({ feed }: { readonly feed: FeedMessages }): ReactNode {
  const refused = feed.messages.filter(({ state }) => state === 'refused');
  return (
    <Plate title="Patient messages in" note={feed.open ? `${feed.head} kept` : 'not set'}>
      {feed.open ? null : (
        <Empty>
          No feed is set. Start the server with <code>--mllp-port</code> to take in who is in which bed.
        </Empty>
      )}
      {feed.open && feed.messages.length === 0 ? <Empty>Nothing has come in yet.</Empty> : null}
      {refused.length > 0 ? (
        <Notice mark="not-known">
          {refused.length === 1
            ? 'One of the newest messages could not be used.'
            : `${refused.length} of the newest messages could not be used.`}{' '}
          What is wrong stands beside each.
        </Notice>
      ) : null}
      <ol className={styles['list']}>
        {feed.messages.toReversed().map(({ number, receivedAt, state, type, words }) => (
          <li key={number} data-message={number}>
            <span className={styles['when']}>{when(receivedAt)}</span>
            <span className={styles['type']}>{type === '' ? 'not read' : type}</span>
            <span className={styles['words']}>
              {state === 'refused' ? <b>Not used: </b> : null}
              {words}
            </span>
          </li>
        ))}
      </ol>
    </Plate>
  );
}

function ResultsOut({
  results,
  sendAgain,
}: {
  readonly results: Results;
  readonly sendAgain: (sequence: number) => void;
}): ReactNode {
  if (!results.open)
    return (
      <Plate title="Results out" note="not set">
        <Empty>
          No receiver is set. With <code>EBBLINE_RESULTS_TO</code> what is charted goes to the hospital’s
          record.
        </Empty>
      </Plate>
    );
  return (
    <Plate title="Results out" note={results.waiting === 'some' ? 'some wait' : 'nothing waits'}>
      {results.trouble === undefined ? null : (
        <Notice mark="overdue" act>
          {results.trouble} What is charted waits and goes out by itself.
        </Notice>
      )}
      <p className="speak">
        {results.lastSentAt === undefined
          ? 'Nothing was sent since the server started.'
          : `The last one arrived ${when(results.lastSentAt)}.`}
      </p>
      {results.aside.length === 0 ? null : (
        <>
          <h3 className="label">Refused by the receiver</h3>
          <ul className={styles['list']}>
            {results.aside.map(({ sequence, entry, words, at }) => (
              <li key={sequence} data-aside={sequence}>
                <span className={styles['when']}>{when(at)}</span>
                <span className={styles['words']}>
                  {words === '' ? 'No reason was given.' : `It says: ${words}`}
                  <br />
                  <span className="label">entry {entry}</span>
                </span>
                <Key onClick={() => sendAgain(sequence)}>Send again</Key>
              </li>
            ))}
          </ul>
        </>
      )}
    </Plate>
  );
}

export default function ConnectionsPage(): ReactNode {
  const [shown, setShown] = useState<Wires | 'asking' | 'refused' | 'not-reached'>('asking');
  const [said, setSaid] = useState('');
  const [again, setAgain] = useState(0);
  useEffect(() => {
    let gone = false;
    wires().then(
      (next) => {
        if (!gone) setShown(next);
      },
      () => {
        if (!gone) setShown('not-reached');
      },
    );
    return () => {
      gone = true;
    };
  }, [again]);
  const sendAgain = async (sequence: number): Promise<void> => {
    setSaid('Sending…');
    const answer = await fetch(`/api/results/${sequence}/resend`, {
      method: 'POST',
      credentials: 'same-origin',
    }).catch(() => undefined);
    const arrived = answer?.ok === true && ((await answer.json()) as { arrived: boolean }).arrived;
    setSaid(arrived ? 'It arrived.' : 'It was not taken. It stays in the list.');
    setAgain((count) => count + 1);
  };
  return (
    <div className={styles['page']}>
      <h1>Connections</h1>
      {shown === 'asking' ? <output>Asking the server…</output> : null}
      {shown === 'refused' ? <Empty>This page is for those who look after the server.</Empty> : null}
      {shown === 'not-reached' ? <Empty>The server does not answer.</Empty> : null}
      {typeof shown === 'object' ? (
        <>
          <MessagesIn feed={shown.feed} />
          <ResultsOut results={shown.results} sendAgain={(sequence) => void sendAgain(sequence)} />
        </>
      ) : null}
      <output aria-live="polite">{said}</output>
      <div>
        <Key
          onClick={() => {
            setSaid('');
            setShown('asking');
            setAgain(again + 1);
          }}
        >
          Ask again
        </Key>
      </div>
    </div>
  );
}
