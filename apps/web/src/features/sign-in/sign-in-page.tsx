/** The door: who you are, and your secret. */
import { useEffect, useRef, useState, type ReactNode } from 'react';
import { isRefusal, type Refusal } from '@ebbline/core/quantity';
import { waitingWords } from '../../shell/network-words.ts';
import { useSession } from '../../shell/session-context.ts';
import { passkeysWork, signInByPasskey } from '../../shell/ways.ts';
import type { Welcome } from '../../shell/remote.ts';
import { Choice, Field } from '../../shared/field.tsx';
import { Key } from '../../shared/key.tsx';
import { Notice } from '../../shared/plate.tsx';
import { roleWords } from './role-words.ts';
import styles from './sign-in.module.css';

export function SignInPage({
  welcome,
  reached,
  waiting,
}: {
  readonly welcome: Welcome | undefined;
  readonly reached: boolean;
  /** Entries that wait, sealed, for the network. */
  readonly waiting: number;
}): ReactNode {
  const session = useSession();
  const people = welcome?.people ?? [];
  const [person, setPerson] = useState('');
  const [secret, setSecret] = useState('');
  const [busy, setBusy] = useState(false);
  const [refusal, setRefusal] = useState<Refusal | undefined>();
  const form = useRef<HTMLFormElement>(null);
  useEffect(() => {
    if (refusal) form.current?.querySelector<HTMLElement>('input[type="password"]')?.focus();
  }, [refusal]);

  const enter = async (): Promise<void> => {
    if (busy) return;
    setBusy(true);
    const answer = await session.signIn(person, secret);
    setBusy(false);
    if (isRefusal(answer)) {
      setRefusal(answer);
      setSecret('');
    }
  };

  const byPasskey = async (): Promise<void> => {
    if (busy) return;
    setBusy(true);
    const answer = await session.comeInBy(signInByPasskey);
    setBusy(false);
    if (isRefusal(answer)) setRefusal(answer);
  };

  return (
    <main className={styles['door']}>
      <header className={styles['head']}>
        <h1>Ebbline</h1>
        <p className="speak">Who has to be looked at, by when, and who has it.</p>
        {waiting > 0 ? <output>{waitingWords(waiting)}</output> : null}
        <div className={styles['edge']} aria-hidden="true" />
      </header>
      {reached ? null : (
        <Notice>
          The ward's record does not answer, and this tablet has nobody who may open it without. Try again, or
          use a tablet that is already in use.
        </Notice>
      )}
      <form
        ref={form}
        className={styles['form']}
        onSubmit={(event) => {
          event.preventDefault();
          void enter();
        }}
      >
        {people.length > 0 ? (
          <Choice
            label="Who are you?"
            value={person}
            required
            onChange={(event) => setPerson(event.target.value)}
          >
            <option value="">Choose your name</option>
            {people.map((one) => (
              <option key={one.id} value={one.id}>
                {one.name}, {roleWords[one.role]}
              </option>
            ))}
          </Choice>
        ) : (
          <Field
            label="Your sign-in name"
            value={person}
            required
            autoComplete="username"
            autoCapitalize="off"
            spellCheck={false}
            onChange={(event) => setPerson(event.target.value)}
          />
        )}
        <Field
          label="Secret"
          type="password"
          value={secret}
          required
          autoComplete="current-password"
          fault={refusal?.todo}
          onChange={(event) => setSecret(event.target.value)}
        />
        <Key look="main" type="submit" disabled={busy}>
          {busy ? 'Opening…' : 'Open'}
        </Key>
        {passkeysWork() ? (
          <Key look="plain" disabled={busy} onClick={() => void byPasskey()}>
            Sign in with a passkey
          </Key>
        ) : null}
      </form>
      {welcome?.demo ? (
        <p className={`${styles['demo']} speak`}>
          This is a demonstration: every person, place and number is invented. Choose anybody; the secret is{' '}
          <strong>{welcome.secret}</strong>, the PIN <strong>{welcome.pin}</strong>.
        </p>
      ) : null}
      <p className="quiet">Advises; the clinician decides.</p>
    </main>
  );
}
