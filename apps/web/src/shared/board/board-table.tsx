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
  readonly nowMs: number;
  readonly zone: string;
  readonly names: boolean;
  readonly hrefOf?: (patient: string) => string;
}

const columns = 6;

function groupWords(group: Group, nowMs: number, zone: string): string {
  if (group === 'now') return 'Now';
  if (group === 'within-the-hour') return `Before ${clockTime(nowMs + hourMs, zone)}`;
  return group === 'later' ? 'Later' : 'No look due';
}

function walk(event: KeyboardEvent<HTMLTableElement>): void {
  const links = [...event.currentTarget.querySelectorAll<HTMLAnchorElement>('a[data-row]')];
  const at = links.indexOf(document.activeElement as HTMLAnchorElement);
  const to = { ArrowDown: at + 1, ArrowUp: at - 1, Home: 0, End: links.length - 1 }[event.key];
  if (at < 0 || to === undefined) return;
  event.preventDefault();
  links[Math.max(0, Math.min(links.length - 1, to))]?.focus();
}

const Row = memo(function Row({
  row,
  names,
  href,
}: {
  readonly row: BoardRow;
  readonly names: boolean;
  readonly href: string | undefined;
}): ReactNode {
  const act = row.group === 'now';
  const who = [row.initials, row.age].filter((part) => part !== '').join(', ');
  return (
    <tr
      className={act ? styles['act'] : undefined}
      data-group={row.group}
      data-patient={names ? row.patient : undefined}
    >
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
        <span className={styles['small-time']}>{row.emptiedTime}</span> <span>{row.emptiedHow}</span>
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
    </tr>
  );
});

export function BoardTable({ rows, nowMs, zone, names, hrefOf }: BoardTableProps): ReactNode {
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
        if (inGroup.length === 0) return <Fragment key={group} />;
        return (
          <tbody key={group}>
            <tr className={styles['group']}>
              <th scope="rowgroup" colSpan={names ? columns : columns - 1}>
                {groupWords(group, nowMs, zone)} <small>{inGroup.length}</small>
              </th>
            </tr>
            {inGroup.map((row) => (
              <Row key={row.patient} row={row} names={names} href={hrefOf?.(row.patient)} />
            ))}
          </tbody>
        );
      })}
    </table>
  );
}
