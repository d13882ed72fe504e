/**
 * One table of a draft as a grid. Arrow keys go from cell to cell, Enter opens a cell, Escape leaves it. Alt with an
 * arrow moves a row, Insert adds one below, Delete takes one away. One cell at a time takes the focus of Tab.
 */
import { useEffect, useRef, useState, type KeyboardEvent, type ReactNode } from 'react';
import {
  columnTestWords,
  columnTitle,
  type CompiledProtocol,
  type CompiledTable,
  type CompiledTest,
  outputTitle,
  type Scalar,
  tableTitle,
  valueWords,
} from '@ebbline/protocol';
import { Dialog } from '../../shared/dialog.tsx';
import { Key } from '../../shared/key.tsx';
import { AnswerDialog } from './answer-dialog.tsx';
import { CellDialog } from './cell-dialog.tsx';
import { columnKind } from './cell-model.ts';
import { TableHead } from './table-head.tsx';
import styles from './editor.module.css';

export interface GridActs {
  readonly onTest: (rowId: string, column: number, test: CompiledTest) => void;
  readonly onValue: (rowId: string, column: number, value: Scalar) => void;
  readonly onAdd: (below: string | undefined) => void;
  readonly onDelete: (rowId: string) => void;
  readonly onMove: (rowId: string, by: -1 | 1) => void;
}

interface Place {
  readonly row: number;
  readonly column: number;
}

const moves: Readonly<Record<string, readonly [number, number]>> = {
  ArrowUp: [-1, 0],
  ArrowDown: [1, 0],
  ArrowLeft: [0, -1],
  ArrowRight: [0, 1],
};

const longTexts: ReadonlySet<string> = new Set(['why', 'tell', 'record']);

function RowDialog({
  rowId,
  acts,
  onClose,
}: {
  readonly rowId: string;
  readonly acts: GridActs;
  readonly onClose: () => void;
}): ReactNode {
  const act = (work: () => void) => () => {
    work();
    onClose();
  };
  return (
    <Dialog title={`Row ${rowId}`} onClose={onClose}>
      <div className={styles['keys']}>
        <Key onClick={act(() => acts.onAdd(rowId))}>Add a row below</Key>
        <Key onClick={act(() => acts.onMove(rowId, -1))}>Move up</Key>
        <Key onClick={act(() => acts.onMove(rowId, 1))}>Move down</Key>
        <Key onClick={act(() => acts.onDelete(rowId))}>Delete this row</Key>
        <Key look="plain" onClick={onClose}>
          Close
        </Key>
      </div>
    </Dialog>
  );
}

export function Grid({
  protocol,
  table,
  marked,
  faulty,
  goTo,
  acts,
}: {
  readonly protocol: CompiledProtocol;
  readonly table: CompiledTable;
  /** Rows that answer the patient who is tried. */
  readonly marked: ReadonlySet<string>;
  readonly faulty: ReadonlySet<string>;
  /** A row that has to be seen now; a new object each time. */
  readonly goTo: { readonly rowId: string } | undefined;
  readonly acts: GridActs;
}): ReactNode {
  const grid = useRef<HTMLTableElement>(null);
  const [at, setAt] = useState<Place>({ row: 0, column: 0 });
  const [open, setOpen] = useState<Place>();
  const columns = 1 + table.inputs.length + table.outputs.length;
  const row = Math.min(at.row, table.rows.length - 1);

  const focus = (place: Place): void =>
    grid.current
      ?.querySelector<HTMLElement>(`[data-place="${place.row} ${place.column}"]`)
      ?.focus({ preventScroll: false });
  useEffect(() => {
    if (!goTo) return;
    const found = table.rows.findIndex((one) => one.id === goTo.rowId);
    if (found < 0) return;
    const cell = grid.current?.querySelector<HTMLElement>(`[data-place="${found} 0"]`);
    cell?.scrollIntoView({ block: 'center' });
    cell?.focus({ preventScroll: true });
    // Going there is asked for once; rows that change later leave the focus alone.
    // oxlint-disable-next-line react-hooks/exhaustive-deps
  }, [goTo]);

  const onKeyDown = (event: KeyboardEvent): void => {
    if (open || event.ctrlKey || event.metaKey) return;
    const here = table.rows[row];
    const move = moves[event.key];
    if (!here) return;
    if (move && event.altKey) {
      if (move[0] === 0) return;
      acts.onMove(here.id, move[0] as -1 | 1);
      const next = { row: Math.max(0, Math.min(table.rows.length - 1, row + move[0])), column: at.column };
      setAt(next);
      setTimeout(() => focus(next));
    } else if (move) {
      const next = {
        row: Math.max(0, Math.min(table.rows.length - 1, row + move[0])),
        column: Math.max(0, Math.min(columns - 1, at.column + move[1])),
      };
      setAt(next);
      focus(next);
    } else if (event.key === 'Home' || event.key === 'End') {
      const next = { row, column: event.key === 'Home' ? 0 : columns - 1 };
      setAt(next);
      focus(next);
    } else if (event.key === 'Enter' || event.key === ' ' || event.key === 'F2')
      setOpen({ row, column: at.column });
    else if (event.key === 'Insert') acts.onAdd(here.id);
    else if (event.key === 'Delete') {
      acts.onDelete(here.id);
      const next = { row: Math.max(0, Math.min(table.rows.length - 2, row)), column: at.column };
      setAt(next);
      setTimeout(() => focus(next));
    } else return;
    event.preventDefault();
  };

  const cellProps = (place: Place) => ({
    'data-place': `${place.row} ${place.column}`,
    tabIndex: place.row === row && place.column === at.column ? 0 : -1,
    onFocus: () => setAt(place),
    onClick: () => {
      setAt(place);
      setOpen(place);
    },
  });

  const opened = open === undefined ? undefined : table.rows[open.row];
  const close = (): void => setOpen(undefined);
  const inputAt = (open?.column ?? 0) - 1;
  const outputAt = inputAt - table.inputs.length;
  const input = table.inputs[inputAt];
  const output = table.outputs[outputAt];

  return (
    <div className={styles['scroll']}>
      {/* A table that is worked in by cell is a grid to those who listen. */}
      {/* oxlint-disable-next-line jsx-a11y/no-noninteractive-element-to-interactive-role, jsx-a11y/no-noninteractive-element-interactions */}
      <table ref={grid} role="grid" aria-label={tableTitle(table.decision)} onKeyDown={onKeyDown}>
        <TableHead table={table} out={styles['out']} />
        <tbody>
          {table.rows.map((one, index) => (
            <tr key={one.id} data-row={one.id} className={marked.has(one.id) ? styles['marked'] : undefined}>
              <th scope="row" {...cellProps({ row: index, column: 0 })}>
                {one.id}
                {marked.has(one.id) ? <span className={styles['flag']}>answers</span> : null}
                {faulty.has(one.id) ? <span className={styles['flag']}>at fault</span> : null}
              </th>
              {one.tests.map((test, column) => (
                <td key={table.inputs[column]} {...cellProps({ row: index, column: column + 1 })}>
                  {columnTestWords(table.inputs[column] ?? '', test) || (
                    <span className={styles['any']}>any</span>
                  )}
                </td>
              ))}
              {one.values.map((value, column) => (
                <td
                  key={table.outputs[column]}
                  className={styles['out']}
                  data-wide={longTexts.has(table.outputs[column] ?? '') ? '' : undefined}
                  {...cellProps({ row: index, column: 1 + table.inputs.length + column })}
                >
                  {valueWords(table.outputs[column] ?? '', value) || (
                    <span className={styles['any']}>none</span>
                  )}
                </td>
              ))}
            </tr>
          ))}
        </tbody>
      </table>
      {open && opened && open.column === 0 ? (
        <RowDialog rowId={opened.id} acts={acts} onClose={close} />
      ) : null}
      {opened && input !== undefined ? (
        <CellDialog
          title={`Row ${opened.id}: ${columnTitle(input)}`}
          column={columnKind(protocol, input)}
          test={opened.tests[inputAt] ?? 0}
          onClose={close}
          onDone={(test) => {
            acts.onTest(opened.id, inputAt, test);
            close();
          }}
        />
      ) : null}
      {opened && output !== undefined ? (
        <AnswerDialog
          title={`Row ${opened.id}: ${outputTitle(output)}`}
          table={table}
          output={output}
          value={opened.values[outputAt] ?? null}
          onClose={close}
          onDone={(value) => {
            acts.onValue(opened.id, outputAt, value);
            close();
          }}
        />
      ) : null}
    </div>
  );
}
