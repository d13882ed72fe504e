/**
 * The lock of a shared tablet. No name and no patient stands here, only initials; anybody of the ward comes in by
 * their own PIN, so that every entry has its author.
 */
import { useEffect, useRef, useState, type ReactNode } from 'react';
import { isRefusal, type Refusal } from '@ebbline/core/quantity';
import type { DoorPerson } from '../../shell/kept/vault.ts';
import { waitingWords } from '../../shell/network-words.ts';
import { useSession } from '../../shell/session-context.ts';
import { Choice, Field } from '../../shared/field.tsx';
import { Key } from '../../shared/key.tsx';
import { roleWords } from './role-words.ts';
import styles from './sign-in.module.css';

const needSecret: ReadonlySet<string> = new Set([
  'server/sign-in-first',
  'server/pin-off',
  'web/session-ended',
  'web/secret-opens',
]);

export function LockPage({
  me,
  people,
  ended,
  waiting,
}: {
  readonly me: DoorPerson;
  readonly people: readonly DoorPerson[];
  readonly ended: boolean;
  /** Entries that wait, sealed, for the network. */
  readonly waiting: number;
}): ReactNode {
  const session = useSession();
  const [person, setPerson] = useState(me.id);
  const [pin, setPin] = useState('');
  const [bySecret, setBySecret] = useState(false);
  const [busy, setBusy] = useState(false);
  const [refusal, setRefusal] = useState<Refusal | undefined>();
  const form = useRef<HTMLFormElement>(null);
  useEffect(() => {
    // The tablet asks for a PIN: digits go there at once, and again after a wrong one.
    form.current?.querySelector('input')?.focus();
  }, [refusal, bySecret]);
  const near = people.filter((one) => one.wards.some((ward) => me.wards.includes(ward)));
  const choices = near.some((one) => one.id === me.id) ? near : [me, ...near];

  const open = async (): Promise<void> => {
    if (busy) return;
    setBusy(true);
    const answer = await (bySecret ? session.signIn(person, pin) : session.switchTo(person, pin));
    setBusy(false);
    if (isRefusal(answer)) {
      setRefusal(answer);
      // A record that was started anew knows no tablet: the PIN alone does not open it.
      if (!bySecret && needSecret.has(answer.code)) setBySecret(true);
      setPin('');
    }
  };

  return (
    <main className={styles['door']}>
      <header className={styles['head']}>
        <h1>Locked</h1>
        <p className="speak">
          {ended
            ? 'The sign-in has ended. What you typed and saved is kept. Come back with your PIN, or with your secret.'
            : 'Nobody has touched this tablet for a while, or somebody locked it.'}
        </p>
        {waiting > 0 ? <output>{waitingWords(waiting)}</output> : null}
        <div className={styles['edge']} aria-hidden="true" />
      </header>
      <form
        ref={form}
        className={styles['form']}
        onSubmit={(event) => {
          event.preventDefault();
          void open();
        }}
      >
        <Choice label="Initials" value={person} onChange={(event) => setPerson(event.target.value)}>
          {choices.map((one) => (
            <option key={one.id} value={one.id}>
              {one.initials}, {roleWords[one.role]}
            </option>
          ))}
        </Choice>
        <Field
          label={bySecret ? 'Secret' : 'PIN'}
          type="password"
          inputMode={bySecret ? 'text' : 'numeric'}
          value={pin}
          required
          autoComplete="off"
          fault={refusal?.todo}
          onChange={(event) => setPin(event.target.value)}
        />
        <Key look="main" type="submit" disabled={busy}>
          {busy ? 'Opening…' : 'Open'}
        </Key>
        <Key
          look="plain"
          onClick={() => {
            setPin('');
            setRefusal(undefined);
            setBySecret(!bySecret);
          }}
        >
          {bySecret ? 'Come back with a PIN instead' : 'Sign in with a secret instead'}
        </Key>
        <Key look="plain" onClick={() => void session.makeRoom().then(setRefusal)}>
          Somebody who is not in this list
        </Key>
      </form>
    </main>
  );
}
