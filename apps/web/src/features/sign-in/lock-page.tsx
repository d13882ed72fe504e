/**
 * The lock of a shared tablet. No name and no patient stands here, only initials; anybody of the ward comes in by
 * their own PIN or badge, so that every entry has its author.
 */
import { useEffect, useRef, useState, type ReactNode } from 'react';
import { isRefusal, type Refusal } from '@ebbline/core/quantity';
import type { DoorPerson } from '../../shell/kept/vault.ts';
import { waitingWords } from '../../shell/network-words.ts';
import { useSession } from '../../shell/session-context.ts';
import { comeInByBadge, lastByBadge, passkeysWork, signInByPasskey } from '../../shell/ways.ts';
import { Choice, Field } from '../../shared/field.tsx';
import { Key } from '../../shared/key.tsx';
import { roleWords } from './role-words.ts';
import styles from './sign-in.module.css';

type Way = 'pin' | 'secret' | 'badge';

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
  const [way, setWay] = useState<Way>(() => (lastByBadge.read() ? 'badge' : 'pin'));
  /** A badge that was shown and asks for its PIN. */
  const [badge, setBadge] = useState<string | undefined>();
  const asksBadge = way === 'badge' && badge === undefined;
  const [busy, setBusy] = useState(false);
  const [refusal, setRefusal] = useState<Refusal | undefined>();
  const form = useRef<HTMLFormElement>(null);
  useEffect(() => {
    // The tablet asks for a PIN: digits go there at once, and again after a wrong one.
    form.current?.querySelector('input')?.focus();
  }, [refusal, way, badge]);
  const near = people.filter((one) => one.wards.some((ward) => me.wards.includes(ward)));
  const choices = near.some((one) => one.id === me.id) ? near : [me, ...near];

  const open = async (): Promise<void> => {
    if (busy) return;
    setBusy(true);
    const answer = await ask();
    setBusy(false);
    if (!isRefusal(answer)) {
      lastByBadge.write(way === 'badge');
      return;
    }
    setPin('');
    if (answer.code === 'server/badge-needs-pin') {
      setBadge(pin);
      setRefusal(undefined);
      return;
    }
    setRefusal(answer);
    // A record that was started anew knows no tablet: neither PIN nor badge opens it.
    if (way !== 'secret' && needSecret.has(answer.code)) setWay('secret');
    if (way === 'badge' && answer.code !== 'server/wrong-pin') setBadge(undefined);
  };
  const ask = (): Promise<Refusal | undefined> => {
    if (way === 'secret') return session.signIn(person, pin);
    if (way === 'pin') return session.switchTo(person, pin);
    return session.comeInBy(() => (badge === undefined ? comeInByBadge(pin) : comeInByBadge(badge, pin)));
  };
  const turnTo = (next: Way): void => {
    setPin('');
    setBadge(undefined);
    setRefusal(undefined);
    setWay(next);
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
        {way === 'badge' ? null : (
          <Choice label="Initials" value={person} onChange={(event) => setPerson(event.target.value)}>
            {choices.map((one) => (
              <option key={one.id} value={one.id}>
                {one.initials}, {roleWords[one.role]}
              </option>
            ))}
          </Choice>
        )}
        <Field
          label={asksBadge ? 'Badge' : way === 'secret' ? 'Secret' : 'PIN'}
          hint={
            asksBadge
              ? 'Hold the badge to the reader, or scan its code'
              : way === 'badge'
                ? 'The badge is known; now its PIN'
                : undefined
          }
          type="password"
          inputMode={way === 'secret' || asksBadge ? 'text' : 'numeric'}
          value={pin}
          required
          autoComplete="off"
          fault={refusal?.todo}
          onChange={(event) => setPin(event.target.value)}
        />
        <Key look="main" type="submit" disabled={busy}>
          {busy ? 'Opening…' : 'Open'}
        </Key>
        {way === 'pin' ? null : (
          <Key look="plain" onClick={() => turnTo('pin')}>
            Come back with a PIN instead
          </Key>
        )}
        {way === 'badge' ? null : (
          <Key look="plain" onClick={() => turnTo('badge')}>
            Use a badge instead
          </Key>
        )}
        {way === 'secret' ? null : (
          <Key look="plain" onClick={() => turnTo('secret')}>
            Sign in with a secret instead
          </Key>
        )}
        {passkeysWork() ? (
          <Key look="plain" disabled={busy} onClick={() => void byPasskey()}>
            Sign in with a passkey
          </Key>
        ) : null}
        <Key look="plain" onClick={() => void session.makeRoom().then(setRefusal)}>
          Somebody who is not in this list
        </Key>
      </form>
    </main>
  );
}
