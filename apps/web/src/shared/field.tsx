/** A labelled box to write in or choose from, with its hint and its fault read out with it. */
import { useId, type InputHTMLAttributes, type ReactNode, type SelectHTMLAttributes } from 'react';
import styles from './field.module.css';

interface Around {
  readonly label: string;
  readonly hint?: string | undefined;
  readonly fault?: string | undefined;
}

function Frame({
  id,
  label,
  hint,
  fault,
  children,
}: Around & { readonly id: string; readonly children: ReactNode }): ReactNode {
  return (
    <div className={styles['field']}>
      <label className="label" htmlFor={id}>
        {label}
      </label>
      {children}
      {hint === undefined ? null : (
        <p id={`${id}-hint`} className={styles['hint']}>
          {hint}
        </p>
      )}
      {fault === undefined ? null : (
        <p id={`${id}-fault`} className={styles['fault']} role="alert">
          {fault}
        </p>
      )}
    </div>
  );
}

const described = (id: string, { hint, fault }: Around): string | undefined =>
  [hint === undefined ? '' : `${id}-hint`, fault === undefined ? '' : `${id}-fault`]
    .filter((part) => part !== '')
    .join(' ') || undefined;

export function Field({
  label,
  hint,
  fault,
  ...rest
}: Around & InputHTMLAttributes<HTMLInputElement>): ReactNode {
  const id = useId();
  return (
    <Frame id={id} label={label} hint={hint} fault={fault}>
      <input
        id={id}
        className={styles['input']}
        aria-describedby={described(id, { label, hint, fault })}
        aria-invalid={fault !== undefined}
        {...rest}
      />
    </Frame>
  );
}

export function Choice({
  label,
  hint,
  fault,
  children,
  ...rest
}: Around & SelectHTMLAttributes<HTMLSelectElement>): ReactNode {
  const id = useId();
  return (
    <Frame id={id} label={label} hint={hint} fault={fault}>
      <select
        id={id}
        className={styles['input']}
        aria-describedby={described(id, { label, hint, fault })}
        aria-invalid={fault !== undefined}
        {...rest}
      >
        {children}
      </select>
    </Frame>
  );
}
