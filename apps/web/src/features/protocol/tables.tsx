/** Reading views of a protocol: its tables with a row marked, one rule in words, and the key that makes a draft of it. */
import { Fragment, type ReactNode } from 'react';
import {
  columnTestWords,
  columnTitle,
  outputTitle,
  tableTitle,
  valueWords,
  type CompiledProtocol,
  type CompiledTable,
} from '@ebbline/protocol';
import { addressOf } from '../../shell/address.ts';
import { useMe } from '../../shell/hooks.ts';
import { Key } from '../../shared/key.tsx';
import { Empty, Plate } from '../../shared/plate.tsx';
import { draftOf } from './draft.ts';
import { draftKept, keepDraft } from './draft-store.ts';
import { TableHead } from './table-head.tsx';
import styles from './protocol.module.css';

function Table({
  table,
  marked,
}: {
  readonly table: CompiledTable;
  readonly marked: string | undefined;
}): ReactNode {
  // A table wider than the page scrolls by itself; it takes the focus so that arrow keys can move it.
  return (
    // oxlint-disable-next-line jsx-a11y/no-noninteractive-tabindex
    <section className={styles['scroll']} tabIndex={0} aria-label={tableTitle(table.decision)}>
      <table>
        <TableHead table={table} out={styles['out']} />
        <tbody>
          {table.rows.map((one) => (
            <tr
              key={one.id}
              className={one.id === marked ? styles['marked'] : undefined}
              aria-current={one.id === marked ? 'true' : undefined}
            >
              <th scope="row">{one.id}</th>
              {one.tests.map((test, index) => (
                <td key={table.inputs[index]} data-of={columnTitle(table.inputs[index] ?? '')}>
                  {columnTestWords(table.inputs[index] ?? '', test)}
                </td>
              ))}
              {one.values.map((value, index) => (
                <td
                  key={table.outputs[index]}
                  className={styles['out']}
                  data-of={outputTitle(table.outputs[index] ?? '')}
                >
                  {valueWords(table.outputs[index] ?? '', value)}
                </td>
              ))}
            </tr>
          ))}
        </tbody>
      </table>
    </section>
  );
}

/** One rule as a person reads it: when it fits, then what it says. The table below shows it among its neighbours. */
function InWords({
  table,
  rule,
}: {
  readonly table: CompiledTable;
  readonly rule: CompiledTable['rows'][number];
}): ReactNode {
  const when = table.inputs.flatMap((name, index) => {
    const words = columnTestWords(name, rule.tests[index] ?? 0);
    return words === '' ? [] : [[columnTitle(name), words] as const];
  });
  const then = table.outputs.flatMap((name, index) => {
    const words = valueWords(name, rule.values[index] ?? null);
    return words === '' ? [] : [[outputTitle(name), words] as const];
  });
  return (
    <Plate first title={`Rule ${rule.id}`} note={tableTitle(table.decision)}>
      <dl className={styles['inWords']}>
        {when.length === 0 ? (
          <div>
            <dt>When</dt>
            <dd>nothing above it fits</dd>
          </div>
        ) : null}
        {when.map(([name, words], index) => (
          <div key={name}>
            <dt>
              {index === 0 ? 'When' : 'and'} {name}
            </dt>
            <dd>{words}</dd>
          </div>
        ))}
        {then.map(([name, words]) => (
          <div key={name} className={styles['then']}>
            <dt>{name}</dt>
            <dd>{words}</dd>
          </div>
        ))}
      </dl>
    </Plate>
  );
}

/** The rule that a step quoted, in words, above its tables; says so when this version has none of that name. */
export function QuotedRule({
  protocol,
  row,
}: {
  readonly protocol: CompiledProtocol;
  readonly row: string | undefined;
}): ReactNode {
  if (row === undefined) return null;
  const table = protocol.tables.find((one) => one.rows.some((rule) => rule.id === row));
  const rule = table?.rows.find((one) => one.id === row);
  return table && rule ? (
    <InWords table={table} rule={rule} />
  ) : (
    <Empty>
      This version of the protocol has no rule {row}. The rules that it has stand in the tables below.
    </Empty>
  );
}

export const hasRule = (protocol: CompiledProtocol, row: string | undefined): boolean =>
  protocol.tables.some((table) => table.rows.some((rule) => rule.id === row));

export function Tables({
  protocol,
  row,
}: {
  readonly protocol: CompiledProtocol;
  readonly row: string | undefined;
}): ReactNode {
  return protocol.tables.map((table) => (
    <Fragment key={table.decision}>
      <h3 className={styles['title']}>{tableTitle(table.decision)}</h3>
      <Table table={table} marked={row} />
    </Fragment>
  ));
}

/** Opens a draft of the next version. One draft a protocol and author: an open one is gone on with. */
export function MakeDraft({ protocol }: { readonly protocol: CompiledProtocol }): ReactNode {
  const me = useMe();
  const kept = draftKept(me.id, protocol.id);
  return (
    <Key
      onClick={() => {
        if (!kept) keepDraft(me.id, draftOf(protocol, protocol.id));
        location.hash = addressOf('protocol', 'draft', protocol.id);
      }}
    >
      {kept ? 'Go on with my draft' : 'Make a draft'}
    </Key>
  );
}
