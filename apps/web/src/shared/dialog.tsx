/**
 * The platform's own modal dialog: it holds the focus, closes on Escape and gives the focus back.
 * Mount it when it is wanted; `onClose` is told once, however it was closed.
 */
import { useEffect, useId, useRef, type ReactNode } from 'react';
import styles from './dialog.module.css';

export function Dialog({
  title,
  onClose,
  children,
}: {
  readonly title: string;
  readonly onClose: () => void;
  readonly children: ReactNode;
}): ReactNode {
  const dialog = useRef<HTMLDialogElement>(null);
  const titleId = useId();
  useEffect(() => {
    const opener = document.activeElement;
    const element = dialog.current;
    if (element && !element.open) element.showModal();
    return () => {
      element?.close();
      if (opener instanceof HTMLElement) opener.focus();
    };
  }, []);
  return (
    <dialog
      ref={dialog}
      className={styles['dialog']}
      aria-labelledby={titleId}
      onCancel={(event) => {
        event.preventDefault();
        onClose();
      }}
    >
      <h2 id={titleId} className={styles['title']}>
        {title}
      </h2>
      {children}
    </dialog>
  );
}
