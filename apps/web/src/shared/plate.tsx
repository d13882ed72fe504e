/** Plate: a ruled section with its title. Notice: a sentence that stands out. Empty: nothing to show, and what to do. */
import { useId, type ReactNode } from 'react';
import { refusalSentence, type Refusal } from '@ebbline/core/quantity';
import { Mark, type MarkName } from './marks.tsx';
import styles from './plate.module.css';

export function Plate({
  title,
  note,
  first,
  children,
}: {
  readonly title: string;
  readonly note?: string | undefined;
  /** The page has no other title: this one is its heading of the first level. */
  readonly first?: boolean;
  readonly children: ReactNode;
}): ReactNode {
  const id = useId();
  const Title = first ? 'h1' : 'h2';
  return (
    <section className={styles['plate']} aria-labelledby={id}>
      <div className={styles['head']}>
        <Title id={id} className={styles['title']}>
          {title}
        </Title>
        {note === undefined ? null : <span className="label">{note}</span>}
      </div>
      {children}
    </section>
  );
}

/** `act` is vermilion: only when somebody has to go now. */
export function Notice({
  mark,
  act,
  children,
}: {
  readonly mark?: MarkName;
  readonly act?: boolean;
  readonly children: ReactNode;
}): ReactNode {
  return (
    <div className={[styles['notice'], act && styles['act']].filter(Boolean).join(' ')}>
      <Mark name={mark ?? 'not-known'} size={20} />
      <div className="speak">{children}</div>
    </div>
  );
}

/** What was found, what is allowed, what to do. Announced at once. */
export function RefusalNotice({ refusal }: { readonly refusal: Refusal }): ReactNode {
  // A question that is still open is named; what would answer it stands on the page.
  const open = refusal.found === 'no answer';
  return (
    <div role="alert">
      <Notice mark="not-known">
        <span aria-hidden="true">
          <strong>
            {open ? `${refusal.asked}${refusal.asked.endsWith('?') ? '' : ':'} ` : ''}
            {refusal.todo}
          </strong>{' '}
          {open ? '' : `Found ${refusal.found}; allowed is ${refusal.allowed}. `}
          <span className="label">{refusal.code}</span>
        </span>
        <span className="heard">{refusalSentence(refusal)}</span>
      </Notice>
    </div>
  );
}

export function Empty({ children }: { readonly children: ReactNode }): ReactNode {
  return (
    <div className={styles['empty']}>
      <p className="speak">{children}</p>
    </div>
  );
}
