/**
 * `#/who-looked` asks about whom; `/patient/<patient>` answers who looked at that patient, `/person/<person>` at what that
 * person looked. For those who answer for privacy.
 */
import { useState, type ReactNode } from 'react';
import type { Refusal } from '@ebbline/core/quantity';
import { labels } from '@ebbline/core/present';
import { Choice, Field } from '../../shared/field.tsx';
import { Key, KeyLink } from '../../shared/key.tsx';
import { Empty, Plate, RefusalNotice } from '../../shared/plate.tsx';
import { addressOf, goTo } from '../../shell/address.ts';
import { nowMs } from '../../shell/clock.ts';
import { useDirectory, useThisWard } from '../../shell/hooks.ts';
import type { PageProps } from '../../shell/page.ts';
import { findPatients, type FoundPatient } from './ask.ts';
import { askFailed } from './ask-failed.ts';
import { LooksTable } from './looks-table.tsx';
import { fromOf, periods, periodWords, type PeriodDays } from './period.ts';
import styles from './who-looked.module.css';

interface Found {
  readonly words: string;
  readonly patients: readonly FoundPatient[];
  readonly refusal?: Refusal;
}

/** Names stay in the page while it is open, so that the answer can say of whom it is. */
const nameOf = ({ familyName, givenName }: FoundPatient): string => `${familyName}, ${givenName}`;

function PatientQuestion({
  onFound,
}: {
  readonly onFound: (patients: readonly FoundPatient[]) => void;
}): ReactNode {
  const [words, setWords] = useState('');
  const [busy, setBusy] = useState(false);
  const [found, setFound] = useState<Found | undefined>();
  const find = async (): Promise<void> => {
    if (busy || words.trim().length < 2) return;
    setBusy(true);
    const answer = await findPatients(words.trim());
    setBusy(false);
    const patients = answer.state === 'reached' ? answer.value.patients : [];
    onFound(patients);
    setFound({
      words: words.trim(),
      patients,
      ...(answer.state === 'reached' ? {} : { refusal: askFailed(answer) }),
    });
  };
  return (
    <Plate title="Who looked at a patient">
      <form
        className={styles['question']}
        onSubmit={(event) => {
          event.preventDefault();
          void find();
        }}
      >
        <Field
          label="Patient"
          hint="A name, an identifier, or a ward and a bed"
          value={words}
          required
          minLength={2}
          autoComplete="off"
          spellCheck={false}
          onChange={(event) => setWords(event.target.value)}
        />
        <Key look="main" type="submit" disabled={busy}>
          {busy ? 'Looking…' : 'Find'}
        </Key>
      </form>
      <div aria-live="polite">
        {found?.refusal ? <RefusalNotice refusal={found.refusal} /> : null}
        {found && !found.refusal && found.patients.length === 0 ? (
          <Empty>Nobody is found by “{found.words}”. Try part of the name, or the identifier.</Empty>
        ) : null}
        {found && found.patients.length > 0 ? (
          <ul className={styles['found']}>
            {found.patients.map((one) => (
              <li key={one.id}>
                <a href={addressOf('who-looked', 'patient', one.id)}>
                  <b>{nameOf(one)}</b>
                  <span>
                    {one.identifier} · last on {one.ward}, bed {one.bed}
                  </span>
                </a>
              </li>
            ))}
          </ul>
        ) : null}
      </div>
    </Plate>
  );
}

function PersonQuestion(): ReactNode {
  const { people } = useDirectory();
  const [person, setPerson] = useState('');
  return (
    <Plate title="At what a person looked">
      <form
        className={styles['question']}
        onSubmit={(event) => {
          event.preventDefault();
          if (person !== '') goTo('who-looked', 'person', person);
        }}
      >
        <Choice
          label="Person of the unit"
          value={person}
          required
          onChange={(event) => setPerson(event.target.value)}
        >
          <option value="">Choose a name</option>
          {people.map((one) => (
            <option key={one.id} value={one.id}>
              {one.name}, {labels.roles[one.role].toLowerCase()}
            </option>
          ))}
        </Choice>
        <Key look="main" type="submit">
          Show
        </Key>
      </form>
    </Plate>
  );
}

export default function WhoLookedPage({ path }: PageProps): ReactNode {
  const [about, id] = path;
  const { zone } = useThisWard();
  const { people } = useDirectory();
  const [names, setNames] = useState<ReadonlyMap<string, string>>(new Map());
  const [days, setDays] = useState<PeriodDays>(7);
  const [openedMs] = useState(nowMs);
  const asked =
    id === undefined
      ? undefined
      : about === 'patient'
        ? { patient: id }
        : about === 'person'
          ? { person: id }
          : undefined;
  if (asked === undefined) {
    return (
      <div className={styles['page']}>
        <h1 className="heard">Who looked</h1>
        <p className="quiet">
          What stands here are facts, not verdicts: a look from another ward is often help that was asked for.
          Your questions are noted too.
        </p>
        <PatientQuestion
          onFound={(found) =>
            setNames(new Map([...names, ...found.map((one) => [one.id, nameOf(one)] as const)]))
          }
        />
        <PersonQuestion />
      </div>
    );
  }
  const name =
    'person' in asked
      ? (people.find((one) => one.id === asked.person)?.name ?? asked.person)
      : names.get(asked.patient);
  const title =
    'person' in asked
      ? `At what ${name} looked`
      : name === undefined
        ? 'Who looked at this patient'
        : `Who looked at ${name}`;
  return (
    <div className={styles['page']}>
      <div className={styles['head']}>
        <KeyLink href={addressOf('who-looked')} look="plain">
          Another question
        </KeyLink>
        <fieldset aria-label="Period" className={styles['keys']}>
          {([...periods, 'all'] as const).map((one) => (
            <Key key={one} chosen={days === one} onClick={() => setDays(one)}>
              {periodWords(one)}
            </Key>
          ))}
        </fieldset>
      </div>
      <Plate title={title} first>
        <LooksTable
          key={`${about}/${id}/${days}`}
          asked={asked}
          from={fromOf(days, openedMs, zone)}
          zone={zone}
          title={title}
        />
      </Plate>
    </div>
  );
}
