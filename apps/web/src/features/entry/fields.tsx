/** The questions of a form on keys a gloved thumb can hit: whole words, a tick when chosen, no list to scroll in. */
import type { ReactNode } from 'react';
import { clockOrDay, type Field } from '@ebbline/core/present';
import { minuteMs } from '@ebbline/core/quantity';
import { Key } from '../../shared/key.tsx';
import { choose, toggle, write, type Draft } from './draft.ts';
import { longest } from './keypad.ts';
import { MomentBox } from './moment-box.tsx';
import styles from './fields.module.css';

interface FieldProps {
  readonly field: Field;
  readonly draft: Draft;
  readonly change: (next: Draft) => void;
  readonly nowMs: number;
  readonly zone: string;
  /** The number field that the pad types into. */
  readonly active: string | undefined;
  readonly activate: (name: string) => void;
  readonly fault: boolean;
  /** Words under a key, such as the last void under "After a void". */
  readonly under?: Readonly<Record<string, string>>;
  /** Every key of a long list, not only the commonest. */
  readonly all?: boolean;
  /** False where no number pad stands: a number is then written into its box by the tablet's own digits. */
  readonly pad: boolean;
}

function Group({
  label,
  fault,
  children,
}: {
  readonly label: string;
  readonly fault: boolean;
  readonly children: ReactNode;
}): ReactNode {
  return (
    <fieldset className={[styles['group'], fault && styles['fault']].filter(Boolean).join(' ')}>
      <legend className={styles['label']}>{label}</legend>
      {children}
    </fieldset>
  );
}

const offerWords = (minutes: number): string => {
  const size = Math.abs(minutes);
  const words =
    size >= 1440
      ? `${size / 1440} day${size === 1440 ? '' : 's'}`
      : size % 60 === 0
        ? `${size / 60} h`
        : `${size} min`;
  return minutes < 0 ? `${words} ago` : `in ${words}`;
};

export function FormField({
  field,
  draft,
  change,
  nowMs,
  zone,
  active,
  activate,
  fault,
  under,
  all,
  pad,
}: FieldProps): ReactNode {
  const value = draft.values[field.name];
  switch (field.type) {
    case 'choice':
    case 'yes-no': {
      const options =
        field.type === 'choice'
          ? field.options
          : ([
              ['yes', field.yes],
              ['no', field.no],
            ] as const);
      const joined = field.name === 'relation';
      return (
        <Group label={field.label} fault={fault}>
          <div className={joined ? styles['joined'] : styles['keys']}>
            {options.map(([word, label]) => (
              <Key
                key={word}
                chosen={value === word}
                onKeyDown={(event) => {
                  // Enter on a key that is chosen already goes on to Save instead of taking the answer back.
                  if (event.key === 'Enter' && value === word) event.preventDefault();
                }}
                onClick={() => change(choose(draft, field.name, word))}
              >
                <span>
                  {label}
                  {under?.[word] === undefined ? null : (
                    <span className={styles['under']}>{under[word]}</span>
                  )}
                </span>
              </Key>
            ))}
          </div>
        </Group>
      );
    }
    case 'many': {
      const chosen = draft.chosen[field.name] ?? [];
      const shown = all
        ? field.options
        : field.options.filter(([word], index) => index < field.shown || chosen.includes(word));
      return (
        <Group label={field.label} fault={fault}>
          <div className={styles['many']}>
            {shown.map(([word, label]) => (
              <Key
                key={word}
                chosen={chosen.includes(word)}
                onKeyDown={(event) => {
                  if (event.key === 'Enter' && chosen.includes(word)) event.preventDefault();
                }}
                onClick={() => change(toggle(draft, field.name, word))}
              >
                {label}
              </Key>
            ))}
          </div>
        </Group>
      );
    }
    case 'number':
      if (!pad)
        return (
          <Group label={field.label} fault={fault}>
            <span className={styles['written']}>
              <input
                className={styles['input']}
                aria-label={`${field.label}, ${field.unit}`}
                inputMode="numeric"
                maxLength={longest}
                value={value ?? ''}
                autoComplete="off"
                onChange={(event) => change(write(draft, field.name, event.target.value))}
              />
              <span>{field.unit}</span>
            </span>
          </Group>
        );
      return (
        <Group label={field.label} fault={fault}>
          <button
            type="button"
            className={[styles['number'], active === field.name && styles['active']]
              .filter(Boolean)
              .join(' ')}
            aria-pressed={active === field.name}
            onClick={() => activate(field.name)}
          >
            <b>{value ?? '–'}</b> {field.unit}
          </button>
        </Group>
      );
    case 'text':
      return (
        <Group label={field.label} fault={fault}>
          {field.offers === undefined ? null : (
            <div className={styles['keys']}>
              {field.offers.map((offer) => (
                <Key
                  key={offer}
                  chosen={value === offer}
                  onClick={() =>
                    change(value === offer ? write(draft, field.name, '') : write(draft, field.name, offer))
                  }
                >
                  {offer}
                </Key>
              ))}
            </div>
          )}
          <input
            className={styles['input']}
            aria-label={field.label}
            maxLength={field.longest}
            value={value ?? ''}
            autoComplete="off"
            onChange={(event) => change(write(draft, field.name, event.target.value))}
          />
        </Group>
      );
    case 'moment':
      return (
        <Group label={field.label} fault={fault}>
          <div className={styles['keys']}>
            {field.offersMin.map((minutes) => (
              <Key
                key={minutes}
                chosen={false}
                aria-pressed={undefined}
                onClick={() =>
                  change(
                    write(
                      draft,
                      field.name,
                      String(Math.round((nowMs + minutes * minuteMs) / minuteMs) * minuteMs),
                    ),
                  )
                }
              >
                {offerWords(minutes)}
              </Key>
            ))}
            <MomentBox
              label="or at"
              zone={zone}
              nowMs={nowMs}
              take={(atMs) => change(write(draft, field.name, String(atMs)))}
            />
          </div>
          <p className={styles['taken']} aria-live="polite">
            {value === undefined ? '' : `That is ${clockOrDay(Number(value), nowMs, zone)}.`}
          </p>
        </Group>
      );
  }
}
