/**
 * A key: the one kind of button. `main` is the page's single main act; `chosen` makes it a two-state choice that
 * shows a tick beside its word, so that the choice does not hang on its colour.
 */
import type { ButtonHTMLAttributes, ReactNode } from 'react';
import { Mark } from './marks.tsx';
import styles from './key.module.css';

interface KeyProps extends ButtonHTMLAttributes<HTMLButtonElement> {
  readonly look?: 'main' | 'usual' | 'plain';
  readonly chosen?: boolean;
  readonly wide?: boolean;
  readonly children: ReactNode;
}

export function Key({ look = 'usual', chosen, wide, className, children, ...rest }: KeyProps): ReactNode {
  const classes = [
    styles['key'],
    look === 'main' && styles['main'],
    look === 'plain' && styles['plain'],
    chosen && styles['chosen'],
    wide && styles['wide'],
    className,
  ];
  return (
    <button type="button" aria-pressed={chosen} {...rest} className={classes.filter(Boolean).join(' ')}>
      {chosen ? <Mark name="tick" /> : null}
      {children}
    </button>
  );
}

/** A link that looks and measures like a key. */
export function KeyLink({
  href,
  look = 'usual',
  children,
  ...rest
}: {
  readonly href: string;
  readonly look?: 'main' | 'usual' | 'plain';
  readonly children: ReactNode;
  readonly target?: string;
  readonly download?: string;
}): ReactNode {
  return (
    <a
      href={href}
      {...rest}
      className={[styles['key'], look !== 'usual' && styles[look]].filter(Boolean).join(' ')}
    >
      {children}
    </a>
  );
}
