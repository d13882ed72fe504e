/**
 * How often the estimate's 90 % ranges held what was measured, with the misses behind it; and whether this ward lets its
 * forecast use the range of a row: who signed, on what, and how to sign or take it back.
 */
import { useMemo, useState, type ReactNode } from 'react';
import { hitRateOf, type HitRate } from '@ebbline/core/facts';
import { hitRateSentences, labels, lengtheningSentences } from '@ebbline/core/present';
import type { Refusal } from '@ebbline/core/quantity';
import { lengtheningRefusal, lengtheningSigners, mayLengthenAt } from '@ebbline/core/record';
import { useHitRate, type PatientPair } from '../../shared/bedside/use-hit-rate.ts';
import { Dialog } from '../../shared/dialog.tsx';
import { Key } from '../../shared/key.tsx';
import { Plate, RefusalNotice } from '../../shared/plate.tsx';
import { useEntries, useMe, useNow, useReplica, useThisWard } from '../../shell/hooks.ts';
import type { DrillRequest } from './drill.tsx';
import styles from './unit.module.css';

const kinds = [
  ['reading', 'Readings'],
  ['drained', 'Drained volumes'],
] as const;

function KindRow({
  label,
  pairs,
  onOpen,
}: {
  readonly label: string;
  readonly pairs: readonly PatientPair[];
  readonly onOpen: (request: DrillRequest) => void;
}): ReactNode {
  const { within, of, percent } = hitRateOf(pairs);
  const missed = pairs.filter((one) => !one.within);
  return (
    <tr>
      <th scope="row">{label}</th>
      <td className="number">{of}</td>
      <td className="number">{within}</td>
      <td>{percent ? `${Math.round(percent.low)} to ${Math.round(percent.high)} %` : '–'}</td>
      <td className="number">
        <button
          type="button"
          className={styles['figure']}
          aria-label={`${label} outside the range: ${missed.length}. Show the entries behind it`}
          onClick={() =>
            onOpen({
              title: `${label} outside the range`,
              behind: missed.map(({ patient, entryId }) => ({ patient, entry: entryId })),
            })
          }
        >
          {missed.length}
        </button>
      </td>
    </tr>
  );
}

function Lengthening({ rate }: { readonly rate: HitRate }): ReactNode {
  const ward = useThisWard();
  const me = useMe();
  const replica = useReplica();
  const entries = useEntries();
  const nowMs = useNow();
  const [asking, setAsking] = useState(false);
  const [busy, setBusy] = useState(false);
  const [refusal, setRefusal] = useState<Refusal>();
  const rangeSeen = useMemo(
    () => entries.some((one) => one.kind === 'step-advised' && one.payload.noLaterThanAt !== undefined),
    [entries],
  );
  const on = mayLengthenAt(ward.settings, nowMs);
  const maySign =
    !on && lengtheningSigners.includes(me.role) && lengtheningRefusal(rate, ward.settings) === undefined;
  const act = async (may: boolean): Promise<void> => {
    setBusy(true);
    setRefusal(await replica.letLengthen(ward.id, may));
    setBusy(false);
    setAsking(false);
  };
  return (
    <section
      className={styles['lengthening']}
      aria-labelledby="lengthening"
      data-lengthening={on ? 'on' : 'off'}
    >
      <h3 id="lengthening">Let the forecast lengthen an interval</h3>
      {lengtheningSentences(ward.settings, rate, rangeSeen, nowMs, ward.zone).map((sentence) => (
        <p key={sentence} className="speak">
          {sentence}
        </p>
      ))}
      {maySign ? <Key onClick={() => setAsking(true)}>Sign for it</Key> : null}
      {on ? (
        <Key disabled={busy} onClick={() => void act(false)}>
          Take it back
        </Key>
      ) : null}
      {refusal ? <RefusalNotice refusal={refusal} /> : null}
      {asking ? (
        <Dialog title="Let the forecast lengthen an interval" onClose={() => setAsking(false)}>
          <div className={styles['lengthening']}>
            <p className="speak">
              On {ward.name} a look may then wait past the usual time of its row while the limit stays
              unlikely, but never past the latest time that the row itself gives. It rests on {rate.within} of{' '}
              {rate.of} pairs. It ends by itself after {ward.settings.lengthenForDays} days, and anybody who
              sees this page can take it back. The person’s state and your protocol come first.
            </p>
            <div className={styles['spans']}>
              <Key look="main" disabled={busy} onClick={() => void act(true)}>
                Sign as {me.name}, {labels.roles[me.role].toLowerCase()}
              </Key>
              <Key onClick={() => setAsking(false)}>Leave it off</Key>
            </div>
          </div>
        </Dialog>
      ) : null}
    </section>
  );
}

export function HitRatePlate({ onOpen }: { readonly onOpen: (request: DrillRequest) => void }): ReactNode {
  const ward = useThisWard();
  const rates = useHitRate(ward.id);
  return (
    <Plate
      title="How often the estimate was right"
      note="what it said just before each measured volume, since the first watch"
    >
      {rates === undefined ? (
        <p className="quiet">Counting…</p>
      ) : (
        <>
          <p className="speak">{hitRateSentences(rates.ward, rates.everywhere).join(' ')}</p>
          {rates.pairs.length === 0 ? null : (
            <table className={styles['looks']}>
              <thead>
                <tr>
                  <th scope="col">What was measured</th>
                  <th scope="col" className="number">
                    Pairs
                  </th>
                  <th scope="col" className="number">
                    Within
                  </th>
                  <th scope="col">95 % interval</th>
                  <th scope="col" className="number">
                    Outside
                  </th>
                </tr>
              </thead>
              <tbody>
                {kinds.map(([kind, label]) => (
                  <KindRow
                    key={kind}
                    label={label}
                    pairs={rates.pairs.filter((one) => one.kind === kind)}
                    onOpen={onOpen}
                  />
                ))}
              </tbody>
            </table>
          )}
          <Lengthening rate={rates.ward} />
        </>
      )}
    </Plate>
  );
}
