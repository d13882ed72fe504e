/** `#/meanwhile` since the record's last outage, `#/meanwhile/<ms>` since an instant: what this ward did not know for a while. */
import { useEffect, useState, type ReactNode } from 'react';
import { clockOrDay, duration } from '@ebbline/core/present';
import { hourMs, instantMs, isRefusal, minuteMs, type Refusal } from '@ebbline/core/quantity';
import type { Ward } from '@ebbline/core/record';
import { Key, KeyLink } from '../../shared/key.tsx';
import { Empty, Plate, RefusalNotice } from '../../shared/plate.tsx';
import { addressOf, goTo } from '../../shell/address.ts';
import { useNetwork, useNow, useReplica, useThisWard } from '../../shell/hooks.ts';
import type { PageProps } from '../../shell/page.ts';
import type { MeanwhileReport } from '../../shell/remote.ts';
import styles from './meanwhile.module.css';

const backHours = [2, 4, 8, 24] as const;

type Shown = MeanwhileReport | Refusal | 'asking' | 'not-reached';

function OnePatient({ one }: { readonly one: MeanwhileReport['patients'][number] }): ReactNode {
  return (
    <Plate title={`Bed ${one.bed}, ${one.initials}`} note={one.summary}>
      <ul className={styles['lines']}>
        {one.lines.map((line) => (
          <li key={`${line.kind} ${line.at} ${line.entry ?? ''} ${line.sentence}`} data-kind={line.kind}>
            <p className="speak">{line.sentence}</p>
            {line.withoutIt.length === 0 ? null : (
              <div className={styles['without']}>
                <p>Decided without knowing it:</p>
                <ul>
                  {line.withoutIt.map((decision) => (
                    <li key={decision.entry} className="speak">
                      {decision.sentence}
                    </li>
                  ))}
                </ul>
              </div>
            )}
          </li>
        ))}
      </ul>
      <div className={styles['keys']}>
        <KeyLink href={addressOf('patient', one.patient)}>Open the patient</KeyLink>
        <KeyLink href={addressOf('patient', one.patient, 'record')} look="plain">
          The whole record
        </KeyLink>
      </div>
    </Plate>
  );
}

function Meanwhile({
  ward,
  fromMs,
}: {
  readonly ward: Ward;
  readonly fromMs: number | undefined;
}): ReactNode {
  const replica = useReplica();
  const network = useNetwork();
  const nowMs = useNow();
  const [shown, setShown] = useState<Shown>('asking');
  const [again, setAgain] = useState(0);

  useEffect(() => {
    let gone = false;
    void replica.meanwhile(ward.id, fromMs).then((answer) => {
      if (!gone) setShown(answer ?? 'not-reached');
    });
    return () => {
      gone = true;
    };
  }, [replica, ward.id, fromMs, again, network.online]);

  const at = (instant: string): string => clockOrDay(instantMs(instant as never), nowMs, ward.zone);
  const report = typeof shown === 'object' && !isRefusal(shown) ? shown : undefined;
  return (
    <div className={styles['page']}>
      <h1>What changed meanwhile</h1>
      <p className="speak">
        {report
          ? `${ward.name}, from ${at(report.from)} to ${at(report.to)}, ${duration((instantMs(report.to as never) - instantMs(report.from as never)) / minuteMs)}. Entries that came in late, what became due, and what was decided without knowing. Look at the person first.`
          : 'Entries that came in late, what became due, and what was decided without knowing.'}
      </p>
      <fieldset className={styles['keys']} aria-label="Since when">
        {report?.outage ? (
          <Key
            chosen={fromMs === instantMs(report.outage.from as never)}
            onClick={() => goTo('meanwhile', String(instantMs(report.outage?.from as never)))}
          >
            The record was away {at(report.outage.from)} to {at(report.outage.to)}
          </Key>
        ) : null}
        {network.lastAway ? (
          <Key
            chosen={fromMs === network.lastAway.fromMs}
            onClick={() => goTo('meanwhile', String(network.lastAway?.fromMs))}
          >
            This tablet was away from {clockOrDay(network.lastAway.fromMs, nowMs, ward.zone)}
          </Key>
        ) : null}
        {backHours.map((hours) => (
          <Key
            key={hours}
            onClick={() =>
              goTo('meanwhile', String(Math.floor((nowMs - hours * hourMs) / minuteMs) * minuteMs))
            }
          >
            {hours} h back
          </Key>
        ))}
        <Key
          look="plain"
          onClick={() => {
            setShown('asking');
            setAgain(again + 1);
          }}
        >
          Ask again
        </Key>
      </fieldset>
      {shown === 'asking' ? <output>Asking the ward’s record…</output> : null}
      {shown === 'not-reached' ? (
        <Empty>The ward’s record is not reached. Ask again when the network is back.</Empty>
      ) : null}
      {isRefusal(shown) ? <RefusalNotice refusal={shown} /> : null}
      {report && report.patients.length === 0 ? (
        <Empty>Nothing came in late, and nothing became due in these hours.</Empty>
      ) : null}
      {report?.patients.map((one) => (
        <OnePatient key={one.patient} one={one} />
      ))}
    </div>
  );
}

export default function MeanwhilePage({ path }: PageProps): ReactNode {
  const ward = useThisWard();
  const asked = Number(path[0] ?? Number.NaN);
  const fromMs = Number.isFinite(asked) ? asked : undefined;
  return <Meanwhile key={`${ward.id} ${fromMs ?? ''}`} ward={ward} fromMs={fromMs} />;
}
