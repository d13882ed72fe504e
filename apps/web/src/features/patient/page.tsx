/** `#/patient/<patient>` is the page of one patient; `/record` the whole record, `/telephone` what to say in a call. */
import type { ReactNode } from 'react';
import { mayView } from '@ebbline/core/record';
import { useKept } from '../../shared/bedside/use-kept.ts';
import { SavedBar } from '../../shared/bedside/saved-bar.tsx';
import { KeyLink } from '../../shared/key.tsx';
import { Empty } from '../../shared/plate.tsx';
import { addressOf } from '../../shell/address.ts';
import { useDirectory, useFacts, useMe, useThisWard } from '../../shell/hooks.ts';
import type { PageProps } from '../../shell/page.ts';
import { CatheterClock, KeepInMind, Proved, VoidTrial } from './aside.tsx';
import { AnotherReadingPlate } from './another-reading.tsx';
import { Duplicates } from './duplicates.tsx';
import { PatientHead } from './head.tsx';
import { NextStep } from './next-step.tsx';
import { RecordView } from './record.tsx';
import { SbarSheet } from './sbar-sheet.tsx';
import { TidePlate } from './tide-plate.tsx';
import { TwinTable } from './twin-table.tsx';
import styles from './patient.module.css';

function Patient({
  patient,
  part,
}: {
  readonly patient: string;
  readonly part: string | undefined;
}): ReactNode {
  const facts = useFacts(patient);
  const me = useMe();
  const directory = useDirectory();
  const ward = useThisWard();
  // A patient of another ward is shown in that ward's own time.
  const zone = directory.wards.find((one) => one.id === facts.ward)?.zone ?? ward.zone;
  const shared = { facts, zone, directory };
  return (
    <div className={styles['page']}>
      <SavedBar patient={patient} zone={zone} />
      <PatientHead facts={facts} zone={zone} directory={directory} here={ward.id} />
      <nav className={styles['parts']} aria-label="Parts of this patient's page">
        <a href={addressOf('patient', patient)} aria-current={part === undefined ? 'page' : undefined}>
          Patient
        </a>
        <a
          href={addressOf('patient', patient, 'record')}
          aria-current={part === 'record' ? 'page' : undefined}
        >
          Record
        </a>
        <a
          href={addressOf('patient', patient, 'telephone')}
          aria-current={part === 'telephone' ? 'page' : undefined}
        >
          Telephone
        </a>
        {mayView(me.role, 'images') ? <a href={addressOf('images', patient)}>Images</a> : null}
      </nav>
      {part === 'record' ? (
        <RecordView {...shared} role={me.role} />
      ) : part === 'telephone' ? (
        <SbarSheet {...shared} />
      ) : (
        <div className={styles['columns']}>
          <div className={styles['step']}>
            <NextStep {...shared} role={me.role} />
          </div>
          <div className={styles['main']}>
            <Duplicates {...shared} role={me.role} />
            <TidePlate {...shared} />
            <TwinTable {...shared} />
          </div>
          <div className={styles['aside']}>
            <AnotherReadingPlate {...shared} />
            <CatheterClock facts={facts} zone={zone} />
            <VoidTrial facts={facts} zone={zone} />
            <KeepInMind facts={facts} />
            <Proved {...shared} />
          </div>
        </div>
      )}
    </div>
  );
}

export default function PatientPage({ path }: PageProps): ReactNode {
  const [patient, part] = path;
  const kept = useKept(patient);
  if (kept === 'waiting') return <p className="quiet">Fetching the record…</p>;
  if (patient === undefined || kept === 'not-here') {
    return (
      <div className={styles['page']}>
        <Empty>
          Nobody by that name is kept on this tablet. Choose a patient on the board. Patients of other wards
          are not here.
        </Empty>
        <KeyLink href={addressOf('board')}>To the board</KeyLink>
        <KeyLink href={addressOf('other-ward')}>Another ward’s patient</KeyLink>
      </div>
    );
  }
  return <Patient key={patient} patient={patient} part={part} />;
}
