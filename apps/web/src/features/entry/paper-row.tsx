/** One event of a paper form: when, what, and the answers in the order in which they stand on the paper. */
import { useEffect, useId, useRef, type ReactNode } from 'react';
import { clockOrDay, fieldsInOrder, formWords, type Field, type FormSpec } from '@ebbline/core/present';
import { dayMs, type Refusal } from '@ebbline/core/quantity';
import type { Question } from '@ebbline/core/facts';
import { Key } from '../../shared/key.tsx';
import { RefusalNotice } from '../../shared/plate.tsx';
import { emptyDraft, toggle, without, write, type Draft } from './draft.ts';
import { longest } from './keypad.ts';
import { instantsTyped, MomentBox } from './moment-box.tsx';
import type { PaperRow } from './paper-rows.ts';
import { isAsked } from './to-entries.ts';
import styles from './from-paper.module.css';

const days = [0, -1, -2] as const;
const dayWords: Readonly<Record<number, string>> = { 0: 'today', [-1]: 'yesterday' };

interface RowProps {
  readonly row: PaperRow;
  readonly index: number;
  readonly forms: readonly FormSpec[];
  readonly scanners: readonly { readonly id: string; readonly name: string }[];
  readonly nowMs: number;
  readonly zone: string;
  readonly refusal: Refusal | undefined;
  readonly question: Question | undefined;
  readonly fresh: boolean;
  readonly change: (row: PaperRow) => void;
  readonly remove: (() => void) | undefined;
}

function Answer({
  field,
  draft,
  change,
  row,
  nowMs,
  zone,
}: {
  readonly field: Field;
  readonly draft: Draft;
  readonly change: (draft: Draft) => void;
  readonly row: string;
  readonly nowMs: number;
  readonly zone: string;
}): ReactNode {
  const id = useId();
  const value = draft.values[field.name] ?? '';
  const set = (next: string): void => change(write(draft, field.name, next));
  if (field.type === 'many') {
    const chosen = draft.chosen[field.name] ?? [];
    return (
      <fieldset className={styles['many']} aria-label={`${field.label} ${row}`}>
        <legend className={styles['label']}>{field.label}</legend>
        {field.options.map(([word, label]) => (
          <label key={word} className={styles['tick']}>
            <input
              type="checkbox"
              checked={chosen.includes(word)}
              onChange={() => change(toggle(draft, field.name, word))}
            />
            {label}
          </label>
        ))}
      </fieldset>
    );
  }
  if (field.type === 'moment')
    return <MomentBox label={field.label} zone={zone} nowMs={nowMs} take={(atMs) => set(String(atMs))} />;
  const options =
    field.type === 'choice'
      ? field.options
      : field.type === 'yes-no'
        ? ([
            ['yes', field.yes],
            ['no', field.no],
          ] as const)
        : undefined;
  return (
    <div className={field.type === 'text' ? styles['wide'] : styles['answer']}>
      <label className={styles['label']} htmlFor={id}>
        {field.label}
        <span className="heard"> {row}</span>
      </label>
      {options ? (
        <select id={id} value={value} onChange={(event) => set(event.target.value)}>
          <option value="">–</option>
          {options.map(([word, label]) => (
            <option key={word} value={word}>
              {label}
            </option>
          ))}
        </select>
      ) : field.type === 'number' ? (
        <span className={styles['number']}>
          <input
            id={id}
            inputMode="numeric"
            maxLength={longest}
            autoComplete="off"
            value={value}
            onChange={(event) => set(event.target.value)}
          />
          <span>{draft.form === 'void' && draft.values['how'] === 'pad-weighed' ? 'g' : field.unit}</span>
        </span>
      ) : (
        <>
          <input
            id={id}
            list={field.type === 'text' && field.offers ? `${id}-offers` : undefined}
            maxLength={field.type === 'text' ? field.longest : undefined}
            autoComplete="off"
            value={value}
            onChange={(event) => set(event.target.value)}
          />
          {field.type === 'text' && field.offers ? (
            <datalist id={`${id}-offers`}>
              {field.offers.map((offer) => (
                <option key={offer}>{offer}</option>
              ))}
            </datalist>
          ) : null}
        </>
      )}
    </div>
  );
}

/** What stands beside the number of a reading on the paper: at least, none seen, repeats. */
function BesideReading({
  draft,
  change,
  row,
}: {
  readonly draft: Draft;
  readonly change: (draft: Draft) => void;
  readonly row: string;
}): ReactNode {
  const id = useId();
  const { atLeast, noneSeen, repeat } = formWords.readingKeyWords;
  const none = draft.values['notObtained'] === 'yes';
  return (
    <>
      <label className={styles['tick']}>
        <input
          type="checkbox"
          checked={draft.values['atLeast'] === 'yes'}
          onChange={(event) => change(write(draft, 'atLeast', event.target.checked ? 'yes' : ''))}
        />
        {atLeast}
        <span className="heard"> {row}</span>
      </label>
      <label className={styles['tick']}>
        <input
          type="checkbox"
          checked={none}
          onChange={() =>
            change(
              none
                ? without(without(draft, 'notObtained'), 'reasonNotObtained')
                : write(
                    write(without(without(draft, 'volumeMl'), 'atLeast'), 'notObtained', 'yes'),
                    'reasonNotObtained',
                    'none-seen',
                  ),
            )
          }
        />
        {noneSeen}
        <span className="heard"> {row}</span>
      </label>
      <div className={styles['answer']}>
        <label className={styles['label']} htmlFor={id}>
          {repeat}
          <span className="heard"> {row}, before the number kept, parted by spaces</span>
        </label>
        <input
          id={id}
          inputMode="numeric"
          autoComplete="off"
          value={draft.repeats.join(' ')}
          onChange={(event) =>
            change({
              ...draft,
              repeats: event.target.value === '' ? [] : event.target.value.split(/[\s,;]+/).slice(0, 5),
            })
          }
        />
      </div>
    </>
  );
}

export function PaperRowView(props: RowProps): ReactNode {
  const { row, index, forms, scanners, nowMs, zone, refusal, question, fresh, change, remove } = props;
  const id = useId();
  const first = useRef<HTMLSelectElement>(null);
  const place = useRef<HTMLElement>(null);
  const name = `row ${index + 1}`;
  const spec = forms.find((form) => form.id === row.draft.form);
  const { draft } = row;
  const setDraft = (next: Draft): void => change({ ...row, draft: next });
  const twice = (instantsTyped(row.typed, row.day, nowMs, zone) ?? []).length > 1;

  useEffect(() => {
    if (fresh) first.current?.focus();
  }, [fresh]);
  useEffect(() => {
    if (refusal) place.current?.scrollIntoView({ block: 'nearest' });
  }, [refusal]);

  const fields = spec ? fieldsInOrder(spec).filter((field) => isAsked(field, draft)) : [];
  const reading = spec?.id === 'reading';
  return (
    <section ref={place} className={styles['row']} aria-label={name} data-row={index + 1}>
      <div className={styles['line']}>
        <span className={styles['count']} aria-hidden="true">
          {index + 1}
        </span>
        <div className={styles['answer']}>
          <label className={styles['label']} htmlFor={`${id}-what`}>
            What<span className="heard"> {name}</span>
          </label>
          <select
            ref={first}
            id={`${id}-what`}
            value={draft.form}
            onChange={(event) => setDraft(emptyDraft(event.target.value, draft.patient))}
          >
            {forms.map((form) => (
              <option key={form.id} value={form.id}>
                {form.title}
              </option>
            ))}
          </select>
        </div>
        <div className={styles['answer']}>
          <label className={styles['label']} htmlFor={`${id}-day`}>
            Day<span className="heard"> {name}</span>
          </label>
          <select
            id={`${id}-day`}
            value={row.day}
            onChange={(event) => change({ ...row, day: Number(event.target.value) })}
          >
            {days.map((one) => (
              <option key={one} value={one}>
                {dayWords[one] ?? clockOrDay(nowMs + one * dayMs, nowMs, zone).replace(/ \d\d:\d\d.*$/, '')}
              </option>
            ))}
          </select>
        </div>
        <div className={styles['time']}>
          <label className={styles['label']} htmlFor={`${id}-time`}>
            Time, 24 h<span className="heard"> {name}</span>
          </label>
          <input
            id={`${id}-time`}
            inputMode="numeric"
            placeholder="18:30"
            maxLength={5}
            autoComplete="off"
            aria-invalid={refusal?.where === 'time'}
            value={row.typed}
            onChange={(event) => {
              const { second: _second, ...rest } = row;
              change({ ...rest, typed: event.target.value });
            }}
          />
        </div>
        {twice ? (
          <div className={styles['answer']}>
            <label className={styles['label']} htmlFor={`${id}-which`}>
              The clock showed it twice<span className="heard"> {name}</span>
            </label>
            <select
              id={`${id}-which`}
              value={row.second === undefined ? '' : row.second ? 'second' : 'first'}
              onChange={(event) => change({ ...row, second: event.target.value === 'second' })}
            >
              <option value="">–</option>
              <option value="first">first</option>
              <option value="second">second</option>
            </select>
          </div>
        ) : null}
        <label className={styles['tick']}>
          <input
            type="checkbox"
            checked={draft.timeQuality === 'rounded'}
            onChange={(event) => {
              const { timeQuality: _quality, ...rest } = draft;
              setDraft(event.target.checked ? { ...rest, timeQuality: 'rounded' } : rest);
            }}
          />
          {formWords.aboutThatTime}
          <span className="heard"> {name}</span>
        </label>
        {remove ? (
          <Key look="plain" onClick={remove} aria-label={`Take away ${name}`}>
            Take away
          </Key>
        ) : null}
      </div>
      <div className={styles['answers']}>
        {fields
          .map((field) => (
            <Answer
              key={`${draft.form} ${field.name}`}
              field={field}
              draft={draft}
              change={setDraft}
              row={name}
              nowMs={nowMs}
              zone={zone}
            />
          ))
          .flatMap((shown, at) =>
            reading && at === 0
              ? [shown, <BesideReading key="beside" draft={draft} change={setDraft} row={name} />]
              : [shown],
          )}
        {reading && scanners.length > 0 ? (
          <div className={styles['answer']}>
            <label className={styles['label']} htmlFor={`${id}-scanner`}>
              {formWords.scannerWord}
              <span className="heard"> {name}</span>
            </label>
            <select
              id={`${id}-scanner`}
              value={draft.values['scanner'] ?? ''}
              onChange={(event) => setDraft(write(draft, 'scanner', event.target.value))}
            >
              <option value="">not said</option>
              {scanners.map((one) => (
                <option key={one.id} value={one.id}>
                  {one.name}
                </option>
              ))}
            </select>
          </div>
        ) : null}
      </div>
      {refusal ? <RefusalNotice refusal={refusal} /> : null}
      {question ? (
        <p className={`${styles['question'] ?? ''} speak`} role="alert">
          <b>{question.sum}</b> {question.check}
        </p>
      ) : null}
    </section>
  );
}
