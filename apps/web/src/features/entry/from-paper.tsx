/**
 * `#/entry/<patient>/from-paper`: what was written on paper while the tool was away, several events at once. They are
 * recorded in the order in which they happened, all or none, each marked as copied from paper.
 */
import { useEffect, useEffectEvent, useRef, useState, type ReactNode } from 'react';
import { ageWords, clockOrDay, paperForms } from '@ebbline/core/present';
import { isRefusal } from '@ebbline/core/quantity';
import { mayWrite } from '@ebbline/core/record';
import { Key, KeyLink } from '../../shared/key.tsx';
import { addressOf } from '../../shell/address.ts';
import { useDirectory, useFacts, useMe, useNow, useThisWard } from '../../shell/hooks.ts';
import { inEventOrder, instantOf, isBlank, nextRow, paperFormOf } from './paper-rows.ts';
import { PaperRowView } from './paper-row.tsx';
import { usePaper } from './use-paper.ts';
import styles from './from-paper.module.css';

export function FromPaper({ patient }: { readonly patient: string }): ReactNode {
  const facts = useFacts(patient);
  const me = useMe();
  const nowMs = useNow();
  const directory = useDirectory();
  const ward = useThisWard();
  const zone = directory.wards.find((one) => one.id === facts.ward)?.zone ?? ward.zone;
  const forms = paperForms.filter((form) => mayWrite(me.role, form.kind));
  const { rows, change, fault, questions, busy, save } = usePaper(patient, zone, forms[0]?.id ?? 'void');
  const [fresh, setFresh] = useState<number>();
  const page = useRef<HTMLElement>(null);
  const said = rows.filter((row) => !isBlank(row));
  const ordered = inEventOrder(rows, nowMs, zone);

  const addRow = (): void => {
    const row = nextRow(patient, rows, forms[0]?.id ?? 'void');
    setFresh(row.key);
    change([...rows, row]);
  };
  // Enter goes on to the next row; with Control it saves. Everything else is the browser's own.
  const onKeyDown = useEffectEvent((event: KeyboardEvent): void => {
    if (event.key !== 'Enter' || event.altKey) return;
    const target = event.target as HTMLElement;
    if (event.ctrlKey || event.metaKey) {
      event.preventDefault();
      void save(questions.length > 0);
      return;
    }
    if (!(target instanceof HTMLInputElement) || !target.closest('[data-row]')) return;
    event.preventDefault();
    addRow();
  });
  useEffect(() => {
    const element = page.current;
    element?.addEventListener('keydown', onKeyDown);
    return () => element?.removeEventListener('keydown', onKeyDown);
  }, []);

  if (forms.length === 0)
    return <p className="speak">Your role does not record this. Ask a nurse to record it.</p>;
  return (
    <section ref={page} className={styles['page']} aria-labelledby="from-paper-title">
      <header className={styles['head']}>
        <p className={styles['bed']}>{facts.bed}</p>
        <div className={styles['who']}>
          <p>
            <b>{facts.initials}</b> {ageWords(facts, zone)}
          </p>
          <h1 id="from-paper-title">From paper</h1>
        </div>
        <KeyLink href={addressOf('patient', patient)}>Back</KeyLink>
      </header>
      <p className="speak">
        One row for each thing that stands on the paper, with the time that stands beside it. All are saved
        together, or none. Enter begins the next row; Ctrl and Enter saves.
      </p>
      {rows.map((row, index) => (
        <PaperRowView
          key={row.key}
          row={row}
          index={index}
          forms={forms}
          scanners={directory.scanners.filter((one) => one.ward === facts.ward)}
          nowMs={nowMs}
          zone={zone}
          refusal={fault?.row === row.key ? fault.refusal : undefined}
          question={questions.find((one) => one.row === row.key)?.question}
          fresh={fresh === row.key}
          change={(next) => change(rows.map((one) => (one.key === next.key ? next : one)))}
          remove={rows.length > 1 ? () => change(rows.filter((one) => one.key !== row.key)) : undefined}
        />
      ))}
      <div className={styles['foot']}>
        <Key onClick={addRow}>Another row</Key>
        <p className={styles['order']} aria-live="polite">
          {'refusal' in ordered || ordered.length < 2
            ? ''
            : `In order: ${ordered
                .map(({ row }) => {
                  const atMs = instantOf(row, nowMs, zone);
                  return `${isRefusal(atMs) ? '' : clockOrDay(atMs, nowMs, zone)} ${(paperFormOf(row.draft.form)?.title ?? '').toLowerCase()}`;
                })
                .join(', ')}.`}
        </p>
        {questions.length > 0 ? (
          <Key look="main" disabled={busy} onClick={() => void save(true)}>
            Save as it stands on the paper
          </Key>
        ) : (
          <Key look="main" disabled={busy || said.length === 0} onClick={() => void save(false)}>
            {said.length === 0 ? 'Save' : said.length === 1 ? 'Save 1 entry' : `Save ${said.length} entries`}
          </Key>
        )}
      </div>
    </section>
  );
}
