/** `#/new-patient`: who the patient is and where they lie. Then the watch is opened. */
import { useEffect, useRef, useState, type ReactNode } from 'react';
import { calendarDay, isRefusal, refuse, type Refusal } from '@ebbline/core/quantity';
import { mayWrite } from '@ebbline/core/record';
import { addressOf, goTo } from '../../shell/address.ts';
import { useDirectory, useEntries, useMe, useNow, useReplica, useThisWard } from '../../shell/hooks.ts';
import { Choice, Field } from '../../shared/field.tsx';
import { Key, KeyLink } from '../../shared/key.tsx';
import { Empty, Plate, RefusalNotice } from '../../shared/plate.tsx';
import { alreadyHere, emptyForm, freeBeds, registration, type NewPatientForm } from './model.ts';
import styles from './new-patient.module.css';

export default function NewPatientPage(): ReactNode {
  const replica = useReplica();
  const me = useMe();
  const ward = useThisWard();
  const directory = useDirectory();
  const entries = useEntries();
  const nowMs = useNow();
  const [form, setForm] = useState<NewPatientForm>(emptyForm);
  const [refusal, setRefusal] = useState<Refusal | undefined>();
  const [busy, setBusy] = useState(false);
  const around = useRef<HTMLFormElement>(null);
  useEffect(() => {
    if (refusal) around.current?.querySelector<HTMLElement>('[aria-invalid="true"]')?.focus();
  }, [refusal]);
  if (!mayWrite(me.role, 'patient-registered')) return <Empty>Ask a nurse to add the patient.</Empty>;

  const system = `urn:${directory.organisation}:patient`;
  const here = replica.patients().map((patient) => {
    const facts = replica.factsOf(patient);
    return {
      bed: facts.bed,
      ward: facts.ward,
      left: facts.watch.state === 'closed' && !facts.catheter.inPlace && facts.due.length === 0,
    };
  });
  const beds = freeBeds(ward.beds, here, ward.id);
  const set = (name: keyof NewPatientForm) => (event: { target: { value: string } }) => {
    setRefusal(undefined);
    setForm((old) => ({ ...old, [name]: event.target.value }));
  };
  const fault = (name: keyof NewPatientForm): string | undefined =>
    refusal?.where === name ? refusal.todo : undefined;

  const save = async (): Promise<void> => {
    if (busy) return;
    const payload = registration(form, ward.id, system, calendarDay(nowMs, ward.zone));
    if (isRefusal(payload)) {
      setRefusal(payload);
      return;
    }
    const known = alreadyHere(entries, system, payload.identifierValue);
    if (known !== undefined) {
      setRefusal(
        refuse('patient/already-here', {
          asked: 'Patient',
          found: `bed ${replica.factsOf(known).bed} with this number`,
          allowed: 'one record for one person',
          todo: 'Open that patient, or check the number.',
          where: 'identifier',
        }),
      );
      return;
    }
    setBusy(true);
    const patient = `patient-${replica.newId()}`;
    const kept = await replica.record([{ patient, kind: 'patient-registered', payload }]);
    setBusy(false);
    if (isRefusal(kept)) setRefusal(kept);
    else goTo('entry', patient, 'watch-opened');
  };

  return (
    <Plate first title="Add a patient" note="Then start the watch: why, the last void, and a limit.">
      <form
        ref={around}
        noValidate
        className={styles['form']}
        onSubmit={(event) => {
          event.preventDefault();
          void save();
        }}
      >
        <Field
          label="Number on the wristband"
          value={form.identifier}
          onChange={set('identifier')}
          fault={fault('identifier')}
          autoComplete="off"
        />
        <Choice
          label="Bed"
          value={form.bed}
          onChange={set('bed')}
          fault={fault('bed')}
          hint={
            beds.length === 0
              ? 'Every bed of this ward is taken. End a watch, or move somebody, first.'
              : undefined
          }
        >
          <option value="">Choose a free bed</option>
          {beds.map((bed) => (
            <option key={bed} value={bed}>
              {bed}
            </option>
          ))}
        </Choice>
        <Field
          label="Family name"
          value={form.familyName}
          onChange={set('familyName')}
          fault={fault('familyName')}
          autoComplete="off"
        />
        <Field
          label="Given name"
          value={form.givenName}
          onChange={set('givenName')}
          fault={fault('givenName')}
          autoComplete="off"
        />
        <Field
          label="Birth date"
          type="date"
          value={form.birthDate}
          onChange={set('birthDate')}
          fault={fault('birthDate')}
        />
        <Field
          label="or age in years"
          inputMode="numeric"
          value={form.ageYears}
          onChange={set('ageYears')}
          fault={fault('ageYears')}
          hint="One of the two is needed: the limits of adults do not fit a child."
        />
        <Choice label="Sex in the record" value={form.sex} onChange={set('sex')} fault={fault('sex')}>
          <option value="">Choose</option>
          <option value="female">Female</option>
          <option value="male">Male</option>
          <option value="other">Other</option>
          <option value="unknown">Not known</option>
        </Choice>
        {refusal && refusal.code !== 'patient/missing' ? <RefusalNotice refusal={refusal} /> : null}
        <div className={styles['keys']}>
          <Key look="main" type="submit" disabled={busy}>
            Add, then start the watch
          </Key>
          <KeyLink href={addressOf('board')} look="plain">
            Back to the board
          </KeyLink>
        </div>
      </form>
    </Plate>
  );
}
