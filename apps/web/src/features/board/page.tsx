/** The ward's board: who has to be looked at, by when, and who has it. */
import { Suspense, useCallback, useDeferredValue, useMemo, useState, type ReactNode } from 'react';
import type { PatientFacts } from '@ebbline/core/facts';
import { mayWrite } from '@ebbline/core/record';
import { addressOf } from '../../shell/address.ts';
import {
  useDirectory,
  useEntries,
  useMe,
  useNetwork,
  useNow,
  useReplica,
  useThisWard,
  useWard,
} from '../../shell/hooks.ts';
import { StaleBand } from '../../shell/stale-band.tsx';
import { BoardKey } from '../../shared/board/board-key.tsx';
import { BoardTable } from '../../shared/board/board-table.tsx';
import { rowOf, rowsOf } from '../../shared/board/rows.ts';
import { Summary } from '../../shared/board/summary.tsx';
import { TimeStrip } from '../../shared/board/time-strip.tsx';
import { ProtocolReminders } from '../../shared/bedside/protocol-reminders.tsx';
import { stillMine } from '../../shared/bedside/still-mine.ts';
import { Key, KeyLink } from '../../shared/key.tsx';
import { Empty } from '../../shared/plate.tsx';
import { notWatched } from './not-watched.ts';
import { useGrowing } from './growing.ts';
import { useSettled } from './settled.ts';
import styles from './board.module.css';

const openPatient = (patient: string): string => addressOf('patient', patient);

/** What is this person's to do: what they own, and for a nurse in charge also what has climbed to them. */
const isMine = (person: string, charge: boolean) => (facts: PatientFacts) =>
  (facts.owner.kind === 'person' && facts.owner.person === person) ||
  facts.due.some(
    (item) =>
      (item.owner.kind === 'person' && item.owner.person === person) ||
      (charge && (item.owner.kind === 'role' || item.climbed !== 'owner')),
  );

/** Patients who have no row above, each still one tap away. */
function Aside({
  label,
  patients,
  wardName,
}: {
  readonly label: string;
  readonly patients: readonly PatientFacts[];
  /** For patients who lie in another ward: its name with ", bed". */
  readonly wardName?: (ward: string) => string;
}): ReactNode {
  if (patients.length === 0) return null;
  return (
    <section className={styles['aside']} aria-label={label}>
      <h2 className="label">{label}</h2>
      <ul>
        {patients.map((one) => (
          <li key={one.patient}>
            <a href={openPatient(one.patient)}>
              {wardName?.(one.ward) ?? 'Bed'} {one.bed}, {one.initials}
            </a>
          </li>
        ))}
      </ul>
    </section>
  );
}

export default function BoardPage(): ReactNode {
  const ward = useThisWard();
  const network = useNetwork();
  const reading = <p className="speak">Reading the ward's record…</p>;
  return (
    <div className={styles['page']}>
      <h1 className="heard">Board of {ward.name}</h1>
      <StaleBand zone={ward.zone} />
      {network.reading ? (
        reading
      ) : (
        <Suspense fallback={reading}>
          <Patients />
        </Suspense>
      )}
    </div>
  );
}

/** Everybody on watch, once the record is here and folded. */
function Patients(): ReactNode {
  const ward = useThisWard();
  const me = useMe();
  const directory = useDirectory();
  const prepare = useCallback(
    (facts: PatientFacts) => void rowOf(facts, ward.zone, directory),
    [ward.zone, directory],
  );
  const facts = useWard(ward.id, prepare);
  const nowMs = useNow();
  const [mineOnly, setMineOnly] = useState(false);
  const every = useMemo(() => rowsOf(facts, ward.zone, directory), [facts, ward.zone, directory]);
  // The key answers at once; the rows follow as soon as the browser has time.
  const rows = useDeferredValue(useSettled(every));
  const drawn = useGrowing(rows.length);
  const mine = useMemo(
    () => new Set(facts.patients.filter(isMine(me.id, me.role === 'charge-nurse')).map((one) => one.patient)),
    [facts, me],
  );
  const only = useDeferredValue(mineOnly ? mine : undefined);
  const minuteMs = nowMs - (nowMs % 60_000);
  const replica = useReplica();
  const entries = useEntries();
  // `facts` is new whenever an entry or the minute changes somebody's.
  const others = useMemo(
    () => notWatched(entries, ward.id, facts.nowMs, replica.factsOf),
    [entries, ward.id, facts, replica],
  );
  const elsewhere = useMemo(
    () => stillMine(entries, ward.id, me.id, replica.factsOf),
    [entries, ward.id, me.id, replica],
  );
  return (
    <>
      <div className={styles['above']}>
        <Summary rows={every} facts={facts} nowMs={nowMs} zone={ward.zone} />
        <fieldset aria-label="Whose patients" className={styles['whose']}>
          <Key chosen={!mineOnly} onClick={() => setMineOnly(false)}>
            Whole ward
          </Key>
          <Key chosen={mineOnly} onClick={() => setMineOnly(true)}>
            Mine, {mine.size}
          </Key>
          {mayWrite(me.role, 'patient-registered') ? (
            <KeyLink href={addressOf('new-patient')}>Add a patient</KeyLink>
          ) : null}
          {mayWrite(me.role, 'opened-with-reason') ? (
            <KeyLink href={addressOf('other-ward')}>Another ward’s patient</KeyLink>
          ) : null}
        </fieldset>
      </div>
      {every.length === 0 || (mineOnly && mine.size === 0) ? (
        <Empty>
          {mineOnly
            ? 'Nobody is with you now. What others have stands under "Whole ward".'
            : mayWrite(me.role, 'patient-registered')
              ? 'Nobody is on watch here. Add a patient, then start the watch: why, the last void and a limit.'
              : 'Nobody is on watch here. A nurse adds a patient and starts the watch.'}
        </Empty>
      ) : (
        <>
          <TimeStrip rows={rows} nowMs={minuteMs} zone={ward.zone} shiftChanges={ward.shiftChanges} />
          <BoardTable
            rows={rows}
            drawn={drawn}
            nowMs={minuteMs}
            zone={ward.zone}
            names
            hrefOf={openPatient}
            only={only}
          />
          <BoardKey />
        </>
      )}
      <ProtocolReminders />
      <Aside label="Added, not yet on watch" patients={others.added} />
      <Aside
        label="Moved to another ward, still with you"
        patients={elsewhere}
        wardName={(id) => `${directory.wards.find((one) => one.id === id)?.name ?? id}, bed`}
      />
      <Aside label="Watch ended within a day" patients={others.ended} />
      <p>
        <KeyLink href={addressOf('meanwhile')} look="plain">
          What changed meanwhile: came in late, became due
        </KeyLink>
      </p>
    </>
  );
}
