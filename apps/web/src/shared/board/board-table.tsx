/**
 * The board: one row a patient, the time first. A native table; the whole row opens the patient, arrow keys walk
 * from row to row. `names` false is the wall: no initials of patients, no sentences, roles instead of people.
 */
import { Fragment, memo, type KeyboardEvent, type ReactNode } from 'react';
import { clockTime, hourMs } from '@ebbline/core/quantity';
import type { BoardRow } from '@ebbline/core/present';
import { Mark } from '../marks.tsx';
import { BarScale, ContentBar } from './content-bar.tsx';
import { groups, markOf, sentenceOf, stateWords, type Group } from './rows.ts';
import styles from './board-table.module.css';

interface BoardTableProps {
  readonly rows: readonly BoardRow[];
  /** How many rows from the top are drawn by now; all when it is left out. The counts are of all. */
  readonly drawn?: number;
  readonly nowMs: number;
  readonly zone: string;
  readonly names: boolean;
  readonly hrefOf?: (patient: string) => string;
  /** Shows only these patients; the others stay in the page, hidden, so that the change costs nothing. */
  readonly only?: ReadonlySet<string> | undefined;
}

const columns = 6;

function groupWords(group: Group, nowMs: number, zone: string): string {
  if (group === 'now') return 'Now';
  if (group === 'within-the-hour') return `Before ${clockTime(nowMs + hourMs, zone)}`;
  return group === 'later' ? 'Later' : 'No look due';
}

function walk(event: KeyboardEvent<HTMLTableElement>): void {
  const links = [...event.currentTarget.querySelectorAll<HTMLAnchorElement>('tr:not([hidden]) a[data-row]')];
  const at = links.indexOf(document.activeElement as HTMLAnchorElement);
  const to = { ArrowDown: at + 1, ArrowUp: at - 1, Home: 0, End: links.length - 1 }[event.key];
  if (at < 0 || to === undefined) return;
  event.preventDefault();
  links[Math.max(0, Math.min(links.length - 1, to))]?.focus();
}

/** A volume keeps its unit on its line. */
const together = (words: string): string => words.replaceAll(' mL', '\u00A0mL');

/** The cells of a row: drawn again only when the row reads differently. */
const Cells = memo(function Cells({
  row,
  names,
  href,
}: {
  readonly row: BoardRow;
  readonly names: boolean;
  readonly href: string | undefined;
}): ReactNode {
  const who = [row.initials, row.age].filter((part) => part !== '').join(', ');
  return (
    <>
      <td className={styles['due']}>
        <span className={styles['time']}>{row.dueTime || '–'}</span>
        <span className={styles['state']}>
          <Mark name={markOf(row)} />
          {stateWords(row)}
        </span>
      </td>
      <th scope="row" className={styles['bed']}>
        {href === undefined ? (
          <span className={styles['number']}>{row.bed}</span>
        ) : (
          <a href={href} data-row="" className={styles['open']}>
            <span className="heard">Bed </span>
            <span className={styles['number']}>{row.bed}</span>
            <span className={styles['who']}>{who}</span>
          </a>
        )}
      </th>
      <td className={styles['emptied']}>
        <span className={styles['small-time']}>{row.emptiedTime}</span> {together(row.emptiedHow)}
      </td>
      <td className={styles['holds']}>
        <ContentBar
          bar={row.bar}
          limitMl={row.limitMl}
          likelyWhenDueMl={row.likelyWhenDueMl}
          held={row.mark === 'paused'}
        />
      </td>
      <td className={styles['what']}>
        <b>{row.what}</b> <span>{row.who}</span>
      </td>
      {names ? <td className={styles['words']}>{sentenceOf(row)}</td> : null}
    </>
  );
});

/** Memoised: draws again only when it is given other rows or another minute. */
export const BoardTable = memo(function BoardTable({
  rows,
  drawn = rows.length,
  nowMs,
  zone,
  names,
  hrefOf,
  only,
}: BoardTableProps): ReactNode {
  const near = drawn < rows.length ? new Set(rows.slice(0, drawn)) : undefined;
  return (
    // The keys only move the focus between links that are there anyway.
    // oxlint-disable-next-line jsx-a11y/no-noninteractive-element-interactions
    <table className={names ? styles['board'] : `${styles['board']} ${styles['wall']}`} onKeyDown={walk}>
      <caption className="heard">Patients in the order in which somebody has to act</caption>
      <thead>
        <tr>
          <th scope="col">Due</th>
          <th scope="col">Bed</th>
          <th scope="col" className={styles['emptied']}>
            Last emptied
          </th>
          <th scope="col" className={styles['holds']}>
            Holds now, mL, against the person's own limit
            <BarScale />
          </th>
          <th scope="col">What, and who has it</th>
          {names ? (
            <th scope="col" className={styles['words']}>
              In words
            </th>
          ) : null}
        </tr>
      </thead>
      {groups.map((group) => {
        const inGroup = rows.filter((row) => row.group === group);
        const shown = only ? inGroup.filter((row) => only.has(row.patient)).length : inGroup.length;
        const here = near ? inGroup.filter((row) => near.has(row)) : inGroup;
        if (here.length === 0) return <Fragment key={group} />;
        return (
          <tbody key={group} hidden={shown === 0}>
            <tr className={styles['group']}>
              <th scope="rowgroup" colSpan={names ? columns : columns - 1}>
                {groupWords(group, nowMs, zone)} <small>{shown}</small>
              </th>
            </tr>
            {here.map((row) => (
              <tr
                key={row.patient}
                className={row.group === 'now' ? styles['act'] : undefined}
                data-group={row.group}
                data-patient={names ? row.patient : undefined}
                hidden={only !== undefined && !only.has(row.patient)}
              >
                <Cells row={row} names={names} href={hrefOf?.(row.patient)} />
              </tr>
            ))}
          </tbody>
        );
      })}
    </table>
  );
});
