/** What a replay found: sentences, paired tables, the figure, and the patients whose step changes. */
import { useState, type ReactNode } from 'react';
import { isRefusal } from '@ebbline/core/quantity';
import type { PairedFigure } from '@ebbline/replay';
import {
  answerWords,
  changedPatients,
  hoursSentence,
  madeUpFigures,
  madeUpSentences,
  pairedCells,
  pairedHeads,
  pastFigures,
  pastSentences,
  percentOf,
} from '@ebbline/replay/words';
import { addressOf } from '../../shell/address.ts';
import { dayWords, timeWords } from '../../shell/day-words.ts';
import { useReplica, useThisWard } from '../../shell/hooks.ts';
import { Key } from '../../shared/key.tsx';
import { Plate, RefusalNotice } from '../../shared/plate.tsx';
import { ReplayFigure, type FigureLine } from './replay-figure.tsx';
import type { ReplayFound } from './replay-worker.ts';
import styles from './replay.module.css';

interface Row {
  readonly title: string;
  readonly digits: number;
  readonly figure: PairedFigure;
}

/** The column of differences, counted from 0; those before it are numbers too. */
const differencePlace = 3;
const isNumber = (place: number): boolean => place > 0 && place <= differencePlace;

function Paired({ caption, rows }: { readonly caption: string; readonly rows: readonly Row[] }): ReactNode {
  return (
    // A table wider than the page scrolls by itself; it takes the focus so that arrow keys can move it.
    // oxlint-disable-next-line jsx-a11y/no-noninteractive-tabindex
    <section className={styles['scroll']} tabIndex={0} aria-label={caption}>
      <table>
        <caption>{caption}</caption>
        <thead>
          <tr>
            {pairedHeads.map((head, place) => (
              <th key={head} scope="col" className={isNumber(place) ? 'number' : undefined}>
                {head}
              </th>
            ))}
          </tr>
        </thead>
        <tbody>
          {rows.map(({ title, digits, figure }) => (
            <tr key={title}>
              <th scope="row">{title}</th>
              {pairedCells(figure, digits).map((cell, index) => (
                <td
                  key={pairedHeads[index + 1]}
                  className={isNumber(index + 1) ? 'number' : undefined}
                  data-difference={index === differencePlace - 1 ? title : undefined}
                >
                  {cell}
                </td>
              ))}
            </tr>
          ))}
        </tbody>
      </table>
    </section>
  );
}

/** More stand behind a key on the screen; paper shows all. */
const firstShown = 12;

function Changed({
  found,
}: {
  readonly found: Extract<ReplayFound['past'], { changed: unknown }>;
}): ReactNode {
  const replica = useReplica();
  const ward = useThisWard();
  const [all, setAll] = useState(false);
  const patients = changedPatients(found.changed);
  if (patients.length === 0) return null;
  return (
    <Plate title="Whose step changes" note={`${patients.length} patients, the first change of each`}>
      {/* oxlint-disable-next-line jsx-a11y/no-noninteractive-tabindex */}
      <section className={styles['scroll']} tabIndex={0} aria-label="Table of whose step changes">
        <table>
          <thead>
            <tr>
              <th scope="col">Patient</th>
              <th scope="col">When</th>
              <th scope="col">In force</th>
              <th scope="col">Draft</th>
              <th scope="col">Later course</th>
            </tr>
          </thead>
          <tbody>
            {patients.map(({ patient, first, more }, index) => (
              <tr
                key={patient}
                data-changed={patient}
                className={all || index < firstShown ? undefined : styles['later']}
              >
                <th scope="row">
                  <a className={styles['open']} href={addressOf('patient', patient)}>
                    {replica.factsOf(patient).initials || 'Open'}
                  </a>
                </th>
                <td>
                  {dayWords(first.atMs, ward.zone)} {timeWords(first.atMs, ward.zone)}
                </td>
                <td>{answerWords(first.inForce)}</td>
                <td>{answerWords(first.draft)}</td>
                <td>
                  {first.change === 'owner' ? 'the same' : 'unseen'}
                  {more === 0
                    ? ''
                    : `; ${more} more ${more === 1 ? 'step' : 'steps'} would be answered otherwise`}
                </td>
              </tr>
            ))}
          </tbody>
        </table>
      </section>
      {!all && patients.length > firstShown ? (
        <Key onClick={() => setAll(true)}>Show all {patients.length}</Key>
      ) : null}
    </Plate>
  );
}

export function ReplayResults({ found }: { readonly found: ReplayFound }): ReactNode {
  const { past, hours, madeUp } = found;
  const pastRows: readonly Row[] = isRefusal(past)
    ? []
    : pastFigures.map((one) => ({ ...one, figure: past.figures[one.name] }));
  const madeUpRows: readonly Row[] = isRefusal(madeUp)
    ? []
    : madeUpFigures.map((one) => ({ ...one, figure: madeUp.figures[one.name] }));
  const lines = (part: string, rows: readonly Row[]): readonly FigureLine[] =>
    rows.map(({ title, figure }) => ({ part, title, percent: percentOf(figure) }));
  const drawn = [...lines('The past, as seen', pastRows), ...lines('Made-up wards, modelled', madeUpRows)];
  return (
    <div data-replay="done">
      <Plate title="Over the past" note="what the record holds of finished watches">
        {isRefusal(past) ? (
          <RefusalNotice refusal={past} />
        ) : (
          <div className={styles['part-of-page']}>
            {pastSentences(past).map((sentence) => (
              <p key={sentence} className="speak">
                {sentence}
              </p>
            ))}
            <Paired caption="Up to the first departure, as seen" rows={pastRows} />
            {hours ? <p className="speak">{hoursSentence(hours)}</p> : null}
          </div>
        )}
      </Plate>
      <Plate title="On made-up wards" note="modelled">
        {isRefusal(madeUp) ? (
          <RefusalNotice refusal={madeUp} />
        ) : (
          <div className={styles['part-of-page']}>
            {madeUpSentences(madeUp).map((sentence) => (
              <p key={sentence} className="speak">
                {sentence}
              </p>
            ))}
            <Paired caption="Made-up patients, modelled" rows={madeUpRows} />
          </div>
        )}
      </Plate>
      {drawn.length === 0 ? null : (
        <div className={styles['whole']}>
          <Plate title="Draft against in force" note="mean difference with its 95 % interval">
            {/* oxlint-disable-next-line jsx-a11y/no-noninteractive-tabindex */}
            <section className={styles['scroll']} tabIndex={0} aria-label="Figure of the differences">
              <ReplayFigure lines={drawn} />
            </section>
          </Plate>
        </div>
      )}
      {isRefusal(past) ? null : <Changed found={past} />}
    </div>
  );
}
