/** `#/other-ward`: for whoever covers elsewhere. A ward, a bed, a reason; then that patient is here for a while. */
import { useEffect, useState, type ReactNode } from 'react';
import { isRefusal, type Refusal } from '@ebbline/core/quantity';
import { labels } from '@ebbline/core/present';
import { mayWrite } from '@ebbline/core/record';
import { addressOf, goTo } from '../../shell/address.ts';
import { useDirectory, useMe, useReplica } from '../../shell/hooks.ts';
import type { BedList } from '../../shell/remote.ts';
import { useKept } from '../../shared/bedside/use-kept.ts';
import { Choice, Field } from '../../shared/field.tsx';
import { Key, KeyLink } from '../../shared/key.tsx';
import { Empty, Plate, RefusalNotice } from '../../shared/plate.tsx';
import styles from './other-ward.module.css';

const reasons = ['covering', 'asked-to-help', 'emergency', 'other'] as const;
type Reason = (typeof reasons)[number];

export default function OtherWardPage(): ReactNode {
  const replica = useReplica();
  const me = useMe();
  const directory = useDirectory();
  const [ward, setWard] = useState('');
  const [list, setList] = useState<BedList | undefined>();
  const [patient, setPatient] = useState('');
  const [reason, setReason] = useState<Reason | ''>('');
  const [words, setWords] = useState('');
  const [refusal, setRefusal] = useState<Refusal | undefined>();
  const [opening, setOpening] = useState<string | undefined>();
  const kept = useKept(opening);
  useEffect(() => {
    if (opening !== undefined && kept === 'kept') goTo('patient', opening);
  }, [opening, kept]);
  if (!mayWrite(me.role, 'opened-with-reason')) return <Empty>Ask a nurse, or somebody of that ward.</Empty>;
  if (opening !== undefined) return <p className="quiet">Fetching the record…</p>;

  const choose = async (id: string): Promise<void> => {
    setWard(id);
    setPatient('');
    setList(undefined);
    setRefusal(undefined);
    if (id === '') return;
    const found = await replica.beds(id);
    if (isRefusal(found)) setRefusal(found);
    else setList(found);
  };
  const ready = patient !== '' && reason !== '' && (reason !== 'other' || words.trim() !== '');
  const open = async (): Promise<void> => {
    if (!ready || list === undefined) return;
    const no = await replica.openWithReason({
      patient,
      reason,
      forMin: list.forMin,
      ...(words.trim() === '' ? {} : { note: words.trim() }),
    });
    if (no) setRefusal(no);
    else setOpening(patient);
  };

  return (
    <Plate
      first
      title="A patient of another ward"
      note="Their ward sees that you opened the record, and why. So does whoever answers for privacy."
    >
      <form
        noValidate
        className={styles['form']}
        onSubmit={(event) => {
          event.preventDefault();
          void open();
        }}
      >
        <Choice label="Ward" value={ward} onChange={(event) => void choose(event.target.value)}>
          <option value="">Choose a ward</option>
          {directory.wards
            .filter(({ id }) => !me.wards.includes(id))
            .map(({ id, name, hospital }) => (
              <option key={id} value={id}>
                {name}, {hospital}
              </option>
            ))}
        </Choice>
        {list?.forMin === 0 ? (
          <Empty>This ward opens its patients to nobody else. Ask that ward.</Empty>
        ) : null}
        {list && list.forMin > 0 ? (
          <>
            <Choice
              label="Bed"
              value={patient}
              onChange={(event) => setPatient(event.target.value)}
              hint={
                list.beds.length === 0 ? 'Nobody is known to lie there.' : 'Check the wristband at the bed.'
              }
            >
              <option value="">Choose a bed</option>
              {list.beds.map((one) => (
                <option key={one.patient} value={one.patient}>
                  Bed {one.bed}, {one.initials}
                </option>
              ))}
            </Choice>
            <Choice
              label="Why"
              value={reason}
              onChange={(event) => setReason(event.target.value as Reason | '')}
            >
              <option value="">Choose a reason</option>
              {reasons.map((one) => (
                <option key={one} value={one}>
                  {labels.openReasons[one]}
                </option>
              ))}
            </Choice>
            <Field
              label={reason === 'other' ? 'In a few words' : 'In a few words, if you like'}
              value={words}
              maxLength={600}
              onChange={(event) => setWords(event.target.value)}
            />
          </>
        ) : null}
        {refusal ? <RefusalNotice refusal={refusal} /> : null}
        <div className={styles['keys']}>
          <Key look="main" type="submit" disabled={!ready}>
            {list && list.forMin > 0 ? `Open for ${list.forMin} min` : 'Open'}
          </Key>
          <KeyLink href={addressOf('board')} look="plain">
            Back to the board
          </KeyLink>
        </div>
      </form>
    </Plate>
  );
}
