/** What the unit can see of itself: the inseparable pair, looks, catheter-days, and how readings compare with drains. */
import { useDeferredValue, useEffect, useMemo, useState, type ReactNode } from 'react';
import { dayMs } from '@ebbline/core/quantity';
import type { UnitFigures } from '@ebbline/core/facts';
import { pairSentence } from '@ebbline/core/present';
import { addressOf } from '../../shell/address.ts';
import { nowMs as readNow } from '../../shell/clock.ts';
import { dayWords } from '../../shell/day-words.ts';
import { useEntries, useReplica, useThisWard } from '../../shell/hooks.ts';
import { ProtocolReminders } from '../../shared/bedside/protocol-reminders.tsx';
import { Key } from '../../shared/key.tsx';
import { Empty, Plate } from '../../shared/plate.tsx';
import { Drill, type DrillRequest } from './drill.tsx';
import { HitRatePlate } from './hit-rate-plate.tsx';
import { PairedPlate } from './paired-plate.tsx';
import { PairsPlot } from './pairs-plot.tsx';
import { ScannerErrors } from './scanner-errors.tsx';
import { agreementOf, countRange, figuresOf, pairPointOf, weeksOf, type Bucket } from './unit-view.ts';
import styles from './unit.module.css';

const spans = [7, 28, 56] as const;

type Share = UnitFigures['looks']['inTime'];

const percent = (value: number): string => `${Math.round(value)} %`;
const offWords = (value: number): string =>
  `${Math.abs(Math.round(value))} mL too ${value < 0 ? 'low' : 'high'}`;
const per = (part: number, whole: number, by: number): string =>
  whole === 0 ? '–' : ((part * by) / whole).toFixed(1);

function FigureRow({
  label,
  share,
  onOpen,
}: {
  readonly label: string;
  readonly share: Share;
  readonly onOpen: () => void;
}): ReactNode {
  const range = share.intervalPercent;
  return (
    <tr>
      <th scope="row">{label}</th>
      <td className="number">
        <button
          type="button"
          className={styles['figure']}
          onClick={onOpen}
          aria-label={`${label}: ${share.count}. Show the entries behind it`}
        >
          {share.count}
        </button>
      </td>
      <td className="number">{share.of === 0 ? '–' : percent((100 * share.count) / share.of)}</td>
      <td>{range ? `${Math.round(range.low)} to ${percent(range.high)}` : '–'}</td>
      <td className={styles['bar-cell']} aria-hidden="true">
        {range ? (
          <i
            style={{
              insetInlineStart: `${range.low}%`,
              inlineSize: `${Math.max(1, range.high - range.low)}%`,
            }}
          />
        ) : null}
        {share.of > 0 ? <b style={{ insetInlineStart: `${(100 * share.count) / share.of}%` }} /> : null}
      </td>
    </tr>
  );
}

export default function UnitPage(): ReactNode {
  const ward = useThisWard();
  const replica = useReplica();
  const [days, setDays] = useState<(typeof spans)[number]>(28);
  const wanted = useDeferredValue(days);
  const [toMs] = useState(readNow);
  const fromMs = toMs - wanted * dayMs;
  const [drill, setDrill] = useState<DrillRequest | undefined>();
  const [worked, setWorked] = useState<
    { readonly figures: UnitFigures; readonly buckets: readonly Bucket[] } | undefined
  >();
  const entries = useEntries();
  const figures = useMemo(() => figuresOf(entries, ward, fromMs, toMs), [entries, ward, fromMs, toMs]);

  // The weeks one after the other, between frames, so that the page answers meanwhile.
  useEffect(() => {
    let gone = false;
    const done: Bucket[] = [];
    const weeks = weeksOf(fromMs, toMs);
    const next = (): void => {
      const week = weeks[done.length];
      if (gone || !week) return;
      done.push({
        // Four of them stand side by side on a telephone: the month in three letters.
        label: dayWords(week.fromMs, ward.zone)
          .slice(4)
          .replace(/([A-Z][a-z]{2})[a-z]+$/, '$1'),
        paired: figuresOf(entries, ward, week.fromMs, week.toMs).paired,
      });
      if (done.length === weeks.length) setWorked({ figures, buckets: done });
      else setTimeout(next, 0);
    };
    const timer = setTimeout(next, 0);
    return () => {
      gone = true;
      clearTimeout(timer);
    };
  }, [figures, entries, ward, fromMs, toMs]);

  // Weeks of another span, or of fewer entries, are not shown as those of this one.
  const buckets = worked?.figures === figures ? worked.buckets : [];
  const points = useMemo(() => figures.pairs.map(pairPointOf), [figures]);
  const agreement = useMemo(() => agreementOf(points), [points]);
  const scanners = [...new Set(points.map((point) => point.pair.scanner ?? ''))].sort();
  const scannerName = (id: string): string =>
    replica.directory().scanners.find((one) => one.id === id)?.name ?? (id === '' ? 'no scanner named' : id);
  const open = (title: string, share: Share) => (): void => setDrill({ title, behind: share.behind });
  const { looks, paired } = figures;
  const avoided = countRange(paired.cathetersAvoided);

  return (
    <div className={styles['page']}>
      <div className={styles['head']}>
        <h1>
          The unit, {dayWords(fromMs, ward.zone)} to {dayWords(toMs, ward.zone)}
        </h1>
        <fieldset aria-label="How far back" className={styles['spans']}>
          {spans.map((one) => (
            <Key key={one} chosen={days === one} onClick={() => setDays(one)}>
              {one} days
            </Key>
          ))}
        </fieldset>
      </div>
      <ProtocolReminders />
      {figures.watches === 0 && figures.readings === 0 ? (
        <Empty>No watch and no reading in these days. The figures begin with the first watch.</Empty>
      ) : null}
      <p className="quiet">
        {figures.watches} watches, {figures.readings} readings, {figures.pairs.length} pairs of a reading and
        a drained volume, {figures.voids.unmeasured} of {figures.voids.all} voids not measured. What is
        underlined opens the entries behind it. No nurse is ranked.
        {avoided ? '' : ' Too few for an interval.'}
      </p>
      <PairedPlate
        paired={paired}
        buckets={buckets}
        onOpen={(half) =>
          open(half === 'cathetersAvoided' ? 'Catheters avoided' : 'Late detections', paired[half])()
        }
      />
      <div className={styles['two']}>
        <Plate title="Looks" note={`${looks.due} were due`}>
          {looks.due === 0 ? (
            <Empty>No look was due in these days.</Empty>
          ) : (
            <table className={styles['looks']}>
              <thead>
                <tr>
                  <th scope="col">What became of them</th>
                  <th scope="col" className="number">
                    Looks
                  </th>
                  <th scope="col" className="number">
                    Share
                  </th>
                  <th scope="col">95 % interval</th>
                  <td aria-hidden="true">0 to 100 %</td>
                </tr>
              </thead>
              <tbody>
                <FigureRow
                  label="In time"
                  share={looks.inTime}
                  onOpen={open('Looks in time', looks.inTime)}
                />
                <FigureRow label="Late" share={looks.late} onOpen={open('Looks done late', looks.late)} />
                <FigureRow label="Missed" share={looks.missed} onOpen={open('Looks missed', looks.missed)} />
              </tbody>
            </table>
          )}
        </Plate>
        <Plate
          title="Catheter days"
          note={`counted at ${String(ward.settings.catheterCountHour).padStart(2, '0')}:00 each day`}
        >
          <table>
            <tbody>
              <tr>
                <th scope="row">Patient days on watch</th>
                <td className="number">{figures.watchedDays}</td>
              </tr>
              <tr>
                <th scope="row">Catheter days</th>
                <td className="number">{figures.catheterDays}</td>
              </tr>
              <tr>
                <th scope="row">per 100 patient days on watch</th>
                <td className="number">{per(figures.catheterDays, figures.watchedDays, 100)}</td>
              </tr>
              <tr>
                <th scope="row">In-outs</th>
                <td className="number">{figures.inOuts}</td>
              </tr>
            </tbody>
          </table>
        </Plate>
      </div>
      <Plate
        title="Reading less drained, mL"
        note={`${points.length} pairs, filling between the two allowed for`}
      >
        {points.length === 0 ? (
          <Empty>
            No reading was followed by a drain within {ward.settings.pairWithinMin} minutes in these days.
          </Empty>
        ) : (
          <>
            <p className="speak">
              {agreement
                ? `On average ${Math.abs(Math.round(agreement.bias))} mL ${agreement.bias < 0 ? 'less' : 'more'} was read than was there; 95 in 100 readings lie between ${offWords(agreement.limits.low)} and ${offWords(agreement.limits.high)}. Only drained patients can be paired.`
                : 'Too few pairs for limits of agreement. Only drained patients can be paired.'}
            </p>
            <p className={styles['shapes']}>
              {scanners.map((id, index) => (
                <span key={id}>
                  {['○', '▲', '□', '◇'][index % 4]} {scannerName(id)}
                </span>
              ))}
            </p>
            <PairsPlot points={points} agreement={agreement} scanners={scanners} />
            <details>
              <summary>The same as a table</summary>
              <table>
                <thead>
                  <tr>
                    <th scope="col">Patient</th>
                    <th scope="col" className="number">
                      Read, mL
                    </th>
                    <th scope="col" className="number">
                      Drained, mL
                    </th>
                    <th scope="col">In words</th>
                  </tr>
                </thead>
                <tbody>
                  {points.map(({ pair }) => (
                    <tr key={pair.drainId}>
                      <td>
                        <a className={styles['open']} href={addressOf('patient', pair.patient)}>
                          {replica.factsOf(pair.patient).initials || 'Open'}
                        </a>
                      </td>
                      <td className="number">
                        {pair.readAtLeast ? 'at least ' : ''}
                        {pair.readMl}
                      </td>
                      <td className="number">{pair.drainedMl}</td>
                      <td>{pairSentence(pair)}</td>
                    </tr>
                  ))}
                </tbody>
              </table>
            </details>
          </>
        )}
      </Plate>
      <ScannerErrors />
      <HitRatePlate onOpen={setDrill} />
      {drill ? <Drill request={drill} zone={ward.zone} onClose={() => setDrill(undefined)} /> : null}
    </div>
  );
}
