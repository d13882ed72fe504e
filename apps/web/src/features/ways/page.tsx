/** `#/ways`: the passkeys and the badge of whoever is signed in. */
import { useCallback, useEffect, useState, type ReactNode } from 'react';
import { refuse, type Refusal } from '@ebbline/core/quantity';
import { Choice, Field } from '../../shared/field.tsx';
import { Key } from '../../shared/key.tsx';
import { Empty, Plate, RefusalNotice } from '../../shared/plate.tsx';
import { dayWords, timeWords } from '../../shell/day-words.ts';
import { useThisWard } from '../../shell/hooks.ts';
import type { Answer } from '../../shell/remote.ts';
import {
  makePasskey,
  passkeysWork,
  removeBadge,
  removePasskey,
  setBadge,
  waysOfMine,
  type Again,
  type Ways,
} from '../../shell/ways.ts';
import styles from './ways.module.css';

const needsNetwork = (): Refusal =>
  refuse('web/away', {
    asked: 'Ways in',
    found: 'no answer',
    allowed: 'a change while the network is there',
    todo: 'Nothing was changed. Try again when the network is back.',
  });
const refusalOf = (answer: Answer<unknown>): Refusal | undefined =>
  answer.state === 'reached' ? undefined : answer.state === 'refused' ? answer.refusal : needsNetwork();

type Means = 'pin' | 'secret';

/** One thing to say, and the PIN or the secret again. */
function AgainForm({
  label,
  hint,
  hidden = false,
  act,
  onDone,
}: {
  readonly label: string;
  readonly hint: string;
  readonly hidden?: boolean;
  readonly act: {
    readonly words: string;
    readonly do: (text: string, again: Again) => Promise<Answer<unknown>>;
  };
  readonly onDone: () => void;
}): ReactNode {
  const [text, setText] = useState('');
  const [means, setMeans] = useState<Means>('pin');
  const [typed, setTyped] = useState('');
  const [busy, setBusy] = useState(false);
  const [refusal, setRefusal] = useState<Refusal | undefined>();
  const go = async (): Promise<void> => {
    if (busy) return;
    setBusy(true);
    const failed = refusalOf(await act.do(text.trim(), means === 'pin' ? { pin: typed } : { secret: typed }));
    setBusy(false);
    setTyped('');
    setRefusal(failed);
    if (failed) return;
    setText('');
    onDone();
  };
  return (
    <form
      className={styles['form']}
      onSubmit={(event) => {
        event.preventDefault();
        void go();
      }}
    >
      <Field
        label={label}
        hint={hint}
        type={hidden ? 'password' : 'text'}
        value={text}
        required
        autoComplete="off"
        onChange={(event) => setText(event.target.value)}
      />
      <Choice
        label="Once more, you are"
        value={means}
        onChange={(event) => {
          setTyped('');
          setMeans(event.target.value === 'secret' ? 'secret' : 'pin');
        }}
      >
        <option value="pin">who has this PIN</option>
        <option value="secret">who has this secret</option>
      </Choice>
      <Field
        label={means === 'pin' ? 'PIN' : 'Secret'}
        type="password"
        inputMode={means === 'pin' ? 'numeric' : 'text'}
        value={typed}
        required
        autoComplete="off"
        onChange={(event) => setTyped(event.target.value)}
      />
      <Key look="main" type="submit" disabled={busy}>
        {busy ? 'Waiting…' : act.words}
      </Key>
      {refusal ? <RefusalNotice refusal={refusal} /> : null}
    </form>
  );
}

export default function WaysPage(): ReactNode {
  const { zone } = useThisWard();
  const [ways, setWays] = useState<Ways | undefined>();
  const [refusal, setRefusal] = useState<Refusal | undefined>();
  const look = useCallback(async (): Promise<void> => {
    const answer = await waysOfMine();
    setRefusal(refusalOf(answer));
    if (answer.state === 'reached') setWays(answer.value);
  }, []);
  useEffect(() => {
    // oxlint-disable-next-line react/set-state-in-effect -- what comes is the record's answer, later
    void look();
  }, [look]);
  const when = (instant: string): string =>
    `${dayWords(Date.parse(instant), zone)} ${timeWords(Date.parse(instant), zone)}`;
  const change = async (work: () => Promise<Answer<unknown>>): Promise<void> => {
    const failed = refusalOf(await work());
    if (failed) setRefusal(failed);
    else await look();
  };

  return (
    <div className={styles['page']}>
      <h1 className="heard">Passkeys and badge</h1>
      {refusal ? <RefusalNotice refusal={refusal} /> : null}
      <Plate title="Passkeys" note="instead of the secret">
        {ways === undefined ? null : ways.passkeys.length === 0 ? (
          <Empty>You have none. A passkey stays on your device and opens Ebbline without a secret.</Empty>
        ) : (
          <ul className={styles['list']}>
            {ways.passkeys.map((one) => (
              <li key={one.id}>
                <span>
                  <b>{one.name}</b>{' '}
                  <span className="quiet">
                    made {when(one.madeAt)},{' '}
                    {one.lastUsedAt === undefined ? 'not used yet' : `last used ${when(one.lastUsedAt)}`}
                  </span>
                </span>
                <Key onClick={() => void change(() => removePasskey(one.id))}>
                  Take away<span className="heard"> {one.name}</span>
                </Key>
              </li>
            ))}
          </ul>
        )}
        {passkeysWork() ? (
          <AgainForm
            label="Name of the new passkey"
            hint="Such as: my telephone, blue key"
            act={{ words: 'Add a passkey', do: makePasskey }}
            onDone={() => void look()}
          />
        ) : (
          <p className="quiet">
            This browser makes none here: a passkey needs a secure line (https) and a name for the server.
          </p>
        )}
      </Plate>
      <Plate title="Badge" note="for the change of hands on a shared tablet">
        {ways?.badgeSince === undefined ? (
          <p className="quiet">You have set none.</p>
        ) : (
          <div className={styles['list']}>
            <p>Set {when(ways.badgeSince)}.</p>
            <Key onClick={() => void change(removeBadge)}>Take the badge away</Key>
          </div>
        )}
        <AgainForm
          label="Badge"
          hint="Hold it to the reader, or scan its code"
          hidden
          act={{
            words: ways?.badgeSince === undefined ? 'Set the badge' : 'Set another badge',
            do: setBadge,
          }}
          onDone={() => void look()}
        />
      </Plate>
    </div>
  );
}
