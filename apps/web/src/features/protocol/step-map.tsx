/**
 * What a draft answers over two inputs of one's choice, everything else as in "Try a patient": each cell is filled by its
 * step, holes and double rows show as such, arrows move between cells, and the same stands below as a table of words.
 */
import { useDeferredValue, useMemo, useState, type KeyboardEvent, type ReactNode } from 'react';
import { labels } from '@ebbline/core/present';
import { isRefusal } from '@ebbline/core/quantity';
import {
  conditionWords,
  dueWords,
  inputWords,
  readInput,
  stepMap,
  type CompiledProtocol,
  type InputName,
  type MapCell,
  type ProtocolInput,
  type StepMap,
} from '@ebbline/protocol';
import { Choice } from '../../shared/field.tsx';
import { Key } from '../../shared/key.tsx';
import { Plate, RefusalNotice } from '../../shared/plate.tsx';
import { valueIn } from './band-value.ts';
import { Fill, StepFills } from './step-fills.tsx';
import { askedInputs, inputOf, type Typed } from './try-model.ts';
import styles from './step-map.module.css';

const capital = (words: string): string => words.slice(0, 1).toUpperCase() + words.slice(1);
/** The limit is left out: whether a volume is above it is no matter of cells. Ages and settings are the protocol's. */
const noAxis: ReadonlySet<InputName> = new Set(['limitMl', 'ageBand', 'setting']);

const nameWords = (name: InputName): string => inputWords(name).split(',')[0] ?? '';
const bandWords = (name: InputName, test: StepMap['columns'][number]['test']): string =>
  conditionWords(name, test) || `whatever the ${nameWords(name)}`;

/** `Help to pass urine, then look, in 60 min: row AS-32` */
function cellWords(cell: MapCell): string {
  if (cell.kind === 'step')
    return `${labels.steps[cell.step]}, ${dueWords(cell.dueInMin)}: row ${cell.rowId}`;
  if (cell.kind === 'hole') return 'No row answers';
  if (cell.kind === 'overlap') return `${cell.rows.length} rows answer: ${cell.rows.join(', ')}`;
  return `Row ${cell.rowId} is not safe. Allowed is: ${cell.law}`;
}
const shortWords = (cell: MapCell): string =>
  cell.kind === 'hole'
    ? 'no row'
    : cell.kind === 'overlap'
      ? `${cell.rows.length} rows`
      : cell.kind === 'unsafe'
        ? 'not safe'
        : cell.rowId;

export function MapOfSteps({
  protocol: now,
  typed,
  onTry,
}: {
  readonly protocol: CompiledProtocol;
  readonly typed: Typed;
  readonly onTry: (patient: Partial<ProtocolInput>) => void;
}): ReactNode {
  const protocol = useDeferredValue(now);
  const names = askedInputs(protocol).filter((name) => !noAxis.has(name));
  const [across, setAcross] = useState<InputName>('volumeMl');
  const [down, setDown] = useState<InputName>(names.includes('residualMl') ? 'residualMl' : 'trigger');
  const patient = useMemo(() => readInput(inputOf(typed)), [typed]);
  const map = useMemo(
    () => (isRefusal(patient) ? patient : stepMap(protocol, across, down, patient)),
    [protocol, across, down, patient],
  );
  const choices = names.map((name) => (
    <option key={name} value={name}>
      {capital(inputWords(name))}
    </option>
  ));
  return (
    <Plate title="Map of the steps" note="Over two inputs; everything else as in “Try a patient”">
      <div className={styles['choices']}>
        <Choice
          label="From left to right"
          value={across}
          onChange={(event) => setAcross(event.currentTarget.value as InputName)}
        >
          {choices}
        </Choice>
        <Choice
          label="From top to bottom"
          value={down}
          onChange={(event) => setDown(event.currentTarget.value as InputName)}
        >
          {choices}
        </Choice>
      </div>
      {isRefusal(map) ? (
        <RefusalNotice refusal={map} />
      ) : (
        <Cells
          key={`${map.columns.length} ${map.rows.length} ${across} ${down}`}
          map={map}
          onTry={onTry}
          patient={patient as ProtocolInput}
        />
      )}
    </Plate>
  );
}

function Cells({
  map,
  patient,
  onTry,
}: {
  readonly map: StepMap;
  readonly patient: ProtocolInput;
  readonly onTry: (patient: Partial<ProtocolInput>) => void;
}): ReactNode {
  const [at, setAt] = useState({ row: 0, column: 0 });
  const chosen = map.cells[at.row]?.[at.column];
  const where = (row: number, column: number): string =>
    [
      bandWords(map.across, map.columns[column]?.test ?? 0),
      bandWords(map.down, map.rows[row]?.test ?? 0),
    ].join(', ');
  const onKey = (event: KeyboardEvent<HTMLTableElement>): void => {
    const ways: Readonly<Record<string, readonly [number, number]>> = {
      ArrowUp: [-1, 0],
      ArrowDown: [1, 0],
      ArrowLeft: [0, -1],
      ArrowRight: [0, 1],
      Home: [0, -map.columns.length],
      End: [0, map.columns.length],
    };
    const way = ways[event.key];
    if (!way) return;
    event.preventDefault();
    const row = Math.min(map.rows.length - 1, Math.max(0, at.row + way[0]));
    const column = Math.min(map.columns.length - 1, Math.max(0, at.column + way[1]));
    event.currentTarget.querySelector<HTMLElement>(`[data-map-cell="${row} ${column}"]`)?.focus();
  };
  const tryThis = (): void => {
    const one = {
      ...patient,
      [map.across]: valueIn(map.across, map.columns[at.column]?.test ?? 0) ?? undefined,
      [map.down]: valueIn(map.down, map.rows[at.row]?.test ?? 0) ?? undefined,
    };
    const known = one.volumeMl !== undefined;
    const numbered = one.volumeKind === 'exact' || one.volumeKind === 'at-least';
    onTry(known === numbered ? one : { ...one, volumeKind: known ? 'exact' : 'missing' });
  };
  return (
    <>
      <StepFills />
      <div className={styles['scroll']}>
        {/* Its cells take the focus one at a time and are moved between by arrows, as the pattern of a grid has it. */}
        {/* oxlint-disable-next-line jsx-a11y/no-noninteractive-element-to-interactive-role, jsx-a11y/no-noninteractive-element-interactions */}
        <table className={styles['map']} role="grid" aria-label="Map of the steps" onKeyDown={onKey}>
          <thead>
            <tr>
              <th scope="col">
                {capital(nameWords(map.down))} below, {nameWords(map.across)} to the right
              </th>
              {map.columns.map((band, column) => (
                <th key={JSON.stringify(band.test)} scope="col">
                  {bandWords(map.across, map.columns[column]?.test ?? 0)}
                </th>
              ))}
            </tr>
          </thead>
          <tbody>
            {map.rows.map((band, row) => (
              <tr key={JSON.stringify(band.test)}>
                <th scope="row">{bandWords(map.down, band.test)}</th>
                {map.columns.map((column, place) => {
                  const cell = map.cells[row]?.[place] as MapCell;
                  const here = at.row === row && at.column === place;
                  return (
                    <td
                      key={JSON.stringify(column.test)}
                      tabIndex={here ? 0 : -1}
                      aria-label={`${where(row, place)}: ${cellWords(cell)}`}
                      aria-selected={here}
                      data-map-cell={`${row} ${place}`}
                      data-kind={cell.kind}
                      onFocus={() => setAt({ row, column: place })}
                      onClick={(event) => event.currentTarget.focus()}
                    >
                      <Fill cell={cell} />
                      <span>{shortWords(cell)}</span>
                    </td>
                  );
                })}
              </tr>
            ))}
          </tbody>
        </table>
      </div>
      <Legend map={map} />
      <div className={styles['chosen']}>
        <output className="speak" data-map-chosen>
          {chosen ? `${capital(where(at.row, at.column))}. ${cellWords(chosen)}.` : ''}
        </output>
        <Key onClick={tryThis}>Try somebody of this cell</Key>
      </div>
      <Words map={map} />
    </>
  );
}

/** Which fill is which step; of the others only those that this map has. */
function Legend({ map }: { readonly map: StepMap }): ReactNode {
  const found = new Map<string, { readonly cell: MapCell; readonly words: string }>();
  for (const cell of map.cells.flat()) {
    const words =
      cell.kind === 'step'
        ? labels.steps[cell.step]
        : cell.kind === 'hole'
          ? 'No row answers'
          : cell.kind === 'overlap'
            ? 'More than one row answers'
            : 'A row answers what is not safe';
    found.set(words, { cell, words });
  }
  return (
    <ul className={styles['legend']} aria-label="What the fills mean">
      {[...found.values()].map(({ cell, words }) => (
        <li key={words}>
          <span className={styles['swatch']}>
            <Fill cell={cell} />
          </span>
          {words}
        </li>
      ))}
    </ul>
  );
}

/** The same map in words alone. */
function Words({ map }: { readonly map: StepMap }): ReactNode {
  return (
    <details className={styles['words']}>
      <summary>The same as a table of words</summary>
      {/* A table wider than the page scrolls by itself; it takes the focus so that arrow keys can move it. */}
      {/* oxlint-disable-next-line jsx-a11y/no-noninteractive-tabindex */}
      <section className={styles['scroll']} tabIndex={0} aria-label="The map in words">
        <table>
          <thead>
            <tr>
              <th scope="col">{capital(inputWords(map.across))}</th>
              <th scope="col">{capital(inputWords(map.down))}</th>
              <th scope="col">Answer</th>
            </tr>
          </thead>
          <tbody>
            {map.cells.flatMap((cells, row) =>
              cells.map((cell, column) => (
                <tr key={`${row} ${JSON.stringify(map.columns[column]?.test)}`}>
                  <td>{bandWords(map.across, map.columns[column]?.test ?? 0)}</td>
                  <td>{bandWords(map.down, map.rows[row]?.test ?? 0)}</td>
                  <td>{cellWords(cell)}</td>
                </tr>
              )),
            )}
          </tbody>
        </table>
      </section>
    </details>
  );
}
