/** One condition of a row, in a form of its own kind: numbers with their unit, or a set of words. */
import { useState, type ReactNode } from 'react';
import { type CompiledTest, plain, stateWords } from '@ebbline/protocol';
import { Dialog } from '../../shared/dialog.tsx';
import { Field } from '../../shared/field.tsx';
import { Key } from '../../shared/key.tsx';
import {
  emptyStretch,
  numberCell,
  numberTest,
  wordsCell,
  wordsTest,
  type ColumnKind,
  type Stretch,
} from './cell-model.ts';
import styles from './editor.module.css';

interface CellProps {
  readonly title: string;
  readonly test: CompiledTest;
  readonly onDone: (test: CompiledTest) => void;
  readonly onClose: () => void;
}

export function Tick({
  label,
  checked,
  onChange,
  name,
}: {
  readonly label: string;
  readonly checked: boolean;
  readonly onChange: (checked: boolean) => void;
  /** One of several with this name: a round choice instead of a tick. */
  readonly name?: string;
}): ReactNode {
  return (
    <label className={styles['tick']}>
      <input
        type={name === undefined ? 'checkbox' : 'radio'}
        name={name}
        checked={checked}
        onChange={(event) => onChange(event.currentTarget.checked)}
      />
      {label}
    </label>
  );
}

export function FormDialog({
  title,
  fault,
  onDone,
  onClose,
  children,
}: {
  readonly title: string;
  readonly fault?: string | undefined;
  readonly onDone: () => void;
  readonly onClose: () => void;
  readonly children: ReactNode;
}): ReactNode {
  return (
    <Dialog title={title} onClose={onClose}>
      <form
        className={styles['form']}
        onSubmit={(event) => {
          event.preventDefault();
          onDone();
        }}
      >
        {children}
        {fault === undefined ? null : (
          <p role="alert" className={styles['fault']}>
            {fault}
          </p>
        )}
        <div className={styles['keys']}>
          <Key look="main" type="submit">
            Done
          </Key>
          <Key onClick={onClose}>Leave as it was</Key>
        </div>
      </form>
    </Dialog>
  );
}

function NumberDialog({
  title,
  test,
  column,
  onDone,
  onClose,
}: CellProps & { readonly column: Extract<ColumnKind, { kind: 'number' }> }): ReactNode {
  const [cell, setCell] = useState(() => numberCell(test));
  const [fault, setFault] = useState<string>();
  const change = (at: number, part: Partial<Stretch>): void =>
    setCell({
      ...cell,
      any: false,
      stretches: cell.stretches.with(at, { ...(cell.stretches[at] ?? emptyStretch), ...part }),
    });
  return (
    <FormDialog
      title={title}
      fault={fault}
      onClose={onClose}
      onDone={() => {
        const made = numberTest(cell, column);
        if (typeof made === 'string') setFault(made);
        else onDone(made);
      }}
    >
      <Tick label="Anything" checked={cell.any} onChange={(any) => setCell({ ...cell, any })} />
      {cell.stretches.map((stretch, at) => (
        // Stretches have no name but their place.
        // oxlint-disable-next-line react/no-array-index-key
        <fieldset key={at} className={styles['stretch']}>
          <legend className="label">
            {at === 0 ? `Between, ${column.unit}` : `Or between, ${column.unit}`}
          </legend>
          <Field
            label="From"
            hint="Empty: no lower end"
            inputMode="decimal"
            autoComplete="off"
            value={stretch.from}
            onChange={(event) => change(at, { from: event.currentTarget.value })}
          />
          <Field
            label="To"
            hint="Empty: no upper end"
            inputMode="decimal"
            autoComplete="off"
            value={stretch.to}
            onChange={(event) => change(at, { to: event.currentTarget.value })}
          />
          <Tick
            label="The lower number itself counts"
            checked={stretch.fromIn}
            onChange={(fromIn) => change(at, { fromIn })}
          />
          <Tick
            label="The upper number itself counts"
            checked={stretch.toIn}
            onChange={(toIn) => change(at, { toIn })}
          />
        </fieldset>
      ))}
      <Key
        look="plain"
        onClick={() => setCell({ ...cell, any: false, stretches: [...cell.stretches, emptyStretch] })}
      >
        Add another stretch
      </Key>
      {column.optional ? (
        <Tick
          label="Also when it is not known"
          checked={cell.unknown}
          onChange={(unknown) => setCell({ ...cell, any: false, unknown })}
        />
      ) : null}
    </FormDialog>
  );
}

const modes = [
  ['any', 'Anything'],
  ['in', 'One of these'],
  ['not', 'None of these'],
] as const;

function WordsDialog({
  title,
  test,
  column,
  onDone,
  onClose,
}: CellProps & { readonly column: Extract<ColumnKind, { kind: 'words' }> }): ReactNode {
  const [cell, setCell] = useState(() => wordsCell(test));
  const [fault, setFault] = useState<string>();
  const { decision } = column;
  const options = [...new Set([...column.options, ...cell.chosen])].filter((one) => one !== null);
  // "Not" goes with texts alone; yes and no say the same the other way round.
  const open = modes.filter(([mode]) => mode !== 'not' || options.every((one) => typeof one === 'string'));
  return (
    <FormDialog
      title={title}
      fault={fault}
      onClose={onClose}
      onDone={() => {
        const made = wordsTest(cell);
        if (typeof made === 'string') setFault(made);
        else onDone(made);
      }}
    >
      <fieldset className={styles['choices']}>
        <legend className="heard">What fits</legend>
        {open.map(([mode, label]) => (
          <Tick
            key={mode}
            name="mode"
            label={label}
            checked={cell.mode === mode}
            onChange={() => setCell({ ...cell, mode })}
          />
        ))}
      </fieldset>
      <fieldset className={styles['choices']}>
        <legend className="label">These</legend>
        {options.map((option) => (
          <Tick
            key={String(option)}
            label={decision === undefined ? plain(option) : stateWords(decision, option)}
            checked={cell.chosen.includes(option)}
            onChange={(checked) =>
              setCell({
                mode: cell.mode === 'any' ? 'in' : cell.mode,
                chosen: checked ? [...cell.chosen, option] : cell.chosen.filter((one) => one !== option),
              })
            }
          />
        ))}
      </fieldset>
    </FormDialog>
  );
}

export function CellDialog({ column, ...rest }: CellProps & { readonly column: ColumnKind }): ReactNode {
  return column.kind === 'number' ? (
    <NumberDialog column={column} {...rest} />
  ) : (
    <WordsDialog column={column} {...rest} />
  );
}
