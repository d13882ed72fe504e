/** A patient by form; the rows that answer are marked in the tables, and the step is said in words. */
import type { ReactNode } from 'react';
import { labels } from '@ebbline/core/present';
import { isRefusal } from '@ebbline/core/quantity';
import { type CompiledProtocol, dictionary, type InputName, inputWords, plain } from '@ebbline/protocol';
import { Choice, Field } from '../../shared/field.tsx';
import { Key } from '../../shared/key.tsx';
import { RefusalNotice } from '../../shared/plate.tsx';
import { askedInputs, type Tried, type Typed } from './try-model.ts';
import styles from './editor.module.css';

const capital = (words: string): string => words.slice(0, 1).toUpperCase() + words.slice(1);

function Ask({
  name,
  protocol,
  text,
  onChange,
}: {
  readonly name: InputName;
  readonly protocol: CompiledProtocol;
  readonly text: string;
  readonly onChange: (text: string) => void;
}): ReactNode {
  const entry = dictionary[name];
  const label = capital(inputWords(name));
  if (entry.kind === 'number')
    return (
      <Field
        label={label}
        inputMode="decimal"
        autoComplete="off"
        value={text}
        onChange={(event) => onChange(event.currentTarget.value)}
      />
    );
  const own: Partial<Record<InputName, readonly string[]>> = {
    ageBand: protocol.ageBands,
    setting: protocol.settings,
  };
  const options = entry.kind === 'flag' ? ['false', 'true'] : (own[name] ?? entry.options ?? []);
  return (
    <Choice label={label} value={text} onChange={(event) => onChange(event.currentTarget.value)}>
      {options.map((option) => (
        <option key={option} value={option}>
          {entry.kind === 'flag' ? plain(option === 'true') : plain(option)}
        </option>
      ))}
    </Choice>
  );
}

export function TryPatient({
  protocol,
  typed,
  tried,
  onChange,
  onGoTo,
}: {
  readonly protocol: CompiledProtocol;
  readonly typed: Typed;
  readonly tried: Tried;
  readonly onChange: (typed: Typed) => void;
  readonly onGoTo: (rowId: string) => void;
}): ReactNode {
  const { answer } = tried;
  const last = tried.rows.at(-1);
  return (
    <div className={styles['try']}>
      <div className={styles['asks']}>
        {askedInputs(protocol).map((name) => (
          <Ask
            key={name}
            name={name}
            protocol={protocol}
            text={typed[name] ?? ''}
            onChange={(text) => {
              const next = { ...typed, [name]: text };
              // A volume comes with its kind: typing one makes it a number, clearing it takes the kind away.
              if (name === 'volumeMl' && text.trim() === '') onChange({ ...next, volumeKind: 'missing' });
              else if (name === 'volumeMl' && typed.volumeKind !== 'at-least')
                onChange({ ...next, volumeKind: 'exact' });
              else onChange(next);
            }}
          />
        ))}
      </div>
      <output aria-label="What the draft answers" className={styles['answer']} data-answer>
        {isRefusal(answer) ? (
          <RefusalNotice refusal={answer} />
        ) : (
          <p className="speak">
            <strong>
              {labels.steps[answer.step]}
              {answer.dueInMin === 0 ? ', now' : `, within ${answer.dueInMin} minutes`}:{' '}
              {labels.roles[answer.ownerRole].toLowerCase()}.
            </strong>{' '}
            {answer.why} Row {answer.row.id}.
          </p>
        )}
        {last === undefined ? null : <Key onClick={() => onGoTo(last)}>Go to row {last}</Key>}
      </output>
    </div>
  );
}
