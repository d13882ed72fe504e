/** One answer of a row: a step or an owner from the list, minutes, or words. */
import { useId, useState, type ReactNode } from 'react';
import { labels } from '@ebbline/core/present';
import { roles, steps } from '@ebbline/core/record';
import { type CompiledTable, latestDueMin, outputTitle, type Scalar } from '@ebbline/protocol';
import { Choice, Field } from '../../shared/field.tsx';
import { FormDialog } from './cell-dialog.tsx';
import { numberTyped } from './cell-model.ts';
import styles from './editor.module.css';

const lists: Readonly<Record<string, readonly (readonly [string, string])[]>> = {
  step: steps.map((step) => [step, labels.steps[step]] as const),
  ownerRole: roles.map((role) => [role, labels.roles[role]] as const),
};
const minutes: ReadonlySet<string> = new Set(['dueInMin', 'noLaterThanMin']);
const mostCharacters: Readonly<Record<string, number>> = { why: 600, tell: 200, record: 600, sourceId: 80 };

/** What was typed, as the answer of a column; or what is wrong with it, in words. */
export function answerTyped(
  output: string,
  text: string,
): { readonly value: Scalar } | { readonly fault: string } {
  const plain = text.trim();
  if (plain === '') return { value: null };
  if (!minutes.has(output)) return { value: plain };
  const value = numberTyped(plain);
  return value === undefined || value < 0 || value > latestDueMin || !Number.isInteger(value)
    ? { fault: `“${plain}” does not fit. Write whole minutes from 0 to ${latestDueMin}.` }
    : { value };
}

export function AnswerDialog({
  title,
  table,
  output,
  value,
  onDone,
  onClose,
}: {
  readonly title: string;
  readonly table: CompiledTable;
  readonly output: string;
  readonly value: Scalar;
  readonly onDone: (value: Scalar) => void;
  readonly onClose: () => void;
}): ReactNode {
  const id = useId();
  const [text, setText] = useState(value === null ? '' : String(value));
  const [fault, setFault] = useState<string>();
  const list = lists[output];
  const label = outputTitle(output);
  const named = output === table.decision;
  const known = [...new Set(table.rows.map((row) => row.values[0]).filter((one) => typeof one === 'string'))];
  const longText = output === 'why' || output === 'tell' || output === 'record';
  return (
    <FormDialog
      title={title}
      fault={fault}
      onClose={onClose}
      onDone={() => {
        const made = answerTyped(output, text);
        if ('fault' in made) setFault(made.fault);
        else onDone(made.value);
      }}
    >
      {list ? (
        <Choice label={label} value={text} onChange={(event) => setText(event.currentTarget.value)}>
          <option value="">Not chosen yet</option>
          {list.map(([word, words]) => (
            <option key={word} value={word}>
              {words}
            </option>
          ))}
        </Choice>
      ) : longText ? (
        <div className={styles['long']}>
          <label className="label" htmlFor={id}>
            {label}
          </label>
          <textarea
            id={id}
            rows={5}
            maxLength={mostCharacters[output]}
            value={text}
            onChange={(event) => setText(event.currentTarget.value)}
          />
        </div>
      ) : (
        <>
          <Field
            label={label}
            autoComplete="off"
            inputMode={minutes.has(output) ? 'numeric' : 'text'}
            maxLength={mostCharacters[output] ?? 60}
            value={text}
            list={named ? `${id}-known` : undefined}
            hint={named ? 'The tables below ask for this name.' : undefined}
            onChange={(event) => setText(event.currentTarget.value)}
          />
          {named ? (
            <datalist id={`${id}-known`}>
              {known.map((one) => (
                <option key={one}>{one}</option>
              ))}
            </datalist>
          ) : null}
        </>
      )}
    </FormDialog>
  );
}
