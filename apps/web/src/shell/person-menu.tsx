import { useState, type ReactNode } from 'react';
import { Dialog } from '../shared/dialog.tsx';
import { Key } from '../shared/key.tsx';
import { goTo } from './address.ts';
import { useMe, useNetwork } from './hooks.ts';
import { useSession } from './session-context.ts';
import { chooseTheme, themeOf, themes, type Theme } from './theme.ts';
import styles from './frame.module.css';

const themeWords: Readonly<Record<Theme, string>> = { light: 'Light', night: 'Night', auto: 'As the tablet' };

/** Who is signed in, how bright the page is, and the ways out. */
export function PersonMenu(): ReactNode {
  const me = useMe();
  const session = useSession();
  const { online } = useNetwork();
  const [open, setOpen] = useState(false);
  const [theme, setTheme] = useState(() => themeOf(me.id));
  return (
    <>
      <button type="button" onClick={() => setOpen(true)} aria-haspopup="dialog">
        <span>
          {me.initials}
          <span className="heard">: signed in as {me.name}. Brightness, lock, sign out</span>
        </span>
      </button>
      {open ? (
        <Dialog title={me.name} onClose={() => setOpen(false)}>
          <div className={styles['me']}>
            <fieldset aria-label="Brightness" className={styles['choices']}>
              {themes.map((one) => (
                <Key
                  key={one}
                  chosen={theme === one}
                  onClick={() => {
                    setTheme(one);
                    chooseTheme(me.id, one);
                  }}
                >
                  {themeWords[one]}
                </Key>
              ))}
            </fieldset>
            {online ? null : (
              <p className="speak">
                Lock it rather than sign out: without the network nobody could come in here again. What waits
                to be sent is safe either way.
              </p>
            )}
            <div className={styles['choices']}>
              <Key look="main" onClick={() => session.lock()}>
                Lock, or hand to somebody
              </Key>
              <Key
                onClick={() => {
                  setOpen(false);
                  goTo('ways');
                }}
              >
                Passkeys and badge
              </Key>
              <Key onClick={() => void session.signOut()}>Sign out</Key>
              <Key look="plain" onClick={() => setOpen(false)}>
                Back
              </Key>
            </div>
          </div>
        </Dialog>
      ) : null}
    </>
  );
}
