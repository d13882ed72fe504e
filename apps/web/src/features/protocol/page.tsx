/**
 * `#/protocol` lists what the unit goes by; `#/protocol/<id>/<row>` shows its tables with that row marked. Reading
 * only: an example stays an example until a named role of the unit signs it.
 */
import { Fragment, type ReactNode } from 'react';
import { labels } from '@ebbline/core/present';
import type { Role, Step } from '@ebbline/core/record';
import { starterProtocols, type CompiledProtocol, type CompiledTable } from '@ebbline/protocol';
import { addressOf } from '../../shell/address.ts';
import type { PageProps } from '../../shell/page.ts';
import { KeyLink } from '../../shared/key.tsx';
import { Empty, Notice, Plate } from '../../shared/plate.tsx';
import { inputWords, testWords } from './cell-words.ts';
import styles from './protocol.module.css';

const tableTitles: Readonly<Record<string, string>> = {
  Danger: 'First: is anything dangerous?',
  Number: 'Second: what is the number worth?',
  Limit: 'Third: how does it stand to this person’s limit?',
  Advice: 'Then: the step',
};

function valueWords(output: string, value: string | number | boolean | null): string {
  if (value === null) return '';
  if (output === 'step') return labels.steps[value as Step] ?? String(value);
  if (output === 'ownerRole') return labels.roles[value as Role] ?? String(value);
  return String(value);
}

const titleOf = (table: CompiledTable): string => tableTitles[table.decision] ?? table.decision;

const outputTitles: Readonly<Record<string, string>> = {
  step: 'Step',
  dueInMin: 'Due in, min',
  noLaterThanMin: 'At the latest, min',
  ownerRole: 'Whose',
  tell: 'Tell',
  why: 'Rule',
  record: 'Write down',
  sourceId: 'Source',
};

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
    <section className={styles['scroll']} tabIndex={0} aria-label={titleOf(table)}>
      <table>
        <thead>
          <tr>
            <th scope="col">Row</th>
            {table.inputs.map((name) => (
              <th key={name} scope="col">
                {inputWords(name)}
              </th>
            ))}
            {table.outputs.map((name) => (
              <th key={name} scope="col" className={styles['out']}>
                {outputTitles[name] ?? 'is called'}
              </th>
            ))}
          </tr>
        </thead>
        <tbody>
          {table.rows.map((one) => (
            <tr
              key={one.id}
              className={one.id === marked ? styles['marked'] : undefined}
              aria-current={one.id === marked ? 'true' : undefined}
            >
              <th scope="row">{one.id}</th>
              {one.tests.map((test, index) => (
                <td key={table.inputs[index]} data-of={inputWords(table.inputs[index] ?? '')}>
                  {testWords(test)}
                </td>
              ))}
              {one.values.map((value, index) => (
                <td
                  key={table.outputs[index]}
                  className={styles['out']}
                  data-of={outputTitles[table.outputs[index] ?? ''] ?? 'is called'}
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
    const words = testWords(rule.tests[index] ?? 0);
    return words === '' ? [] : [[inputWords(name), words] as const];
  });
  const then = table.outputs.flatMap((name, index) => {
    const words = valueWords(name, rule.values[index] ?? null);
    return words === '' ? [] : [[outputTitles[name] ?? 'is called', words] as const];
  });
  return (
    <Plate first title={`Rule ${rule.id}`} note={titleOf(table)}>
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

function Whole({
  protocol,
  row,
}: {
  readonly protocol: CompiledProtocol;
  readonly row: string | undefined;
}): ReactNode {
  const table = protocol.tables.find((one) => one.rows.some((rule) => rule.id === row));
  const rule = table?.rows.find((one) => one.id === row);
  return (
    <>
      {table && rule ? <InWords table={table} rule={rule} /> : null}
      {row !== undefined && !rule ? (
        <Empty>
          This version of the protocol has no rule {row}. The rules that it has stand in the tables below.
        </Empty>
      ) : null}
      <Plate first={!rule} title={protocol.title} note={`version ${protocol.version}`}>
        <Notice mark="not-known">
          <strong>Example protocol, not approved.</strong> It advises; local protocol, scope of practice and
          prescriber orders come first. The tables are asked in this order; an empty cell means that anything
          fits.
        </Notice>
        {protocol.tables.map((table) => (
          <Fragment key={table.decision}>
            <h3 className={styles['title']}>{titleOf(table)}</h3>
            <Table table={table} marked={row} />
          </Fragment>
        ))}
        <KeyLink href={addressOf('protocol')} look="plain">
          All protocols
        </KeyLink>
      </Plate>
    </>
  );
}

export default function ProtocolPage({ path }: PageProps): ReactNode {
  const [id, row] = path;
  const protocol = starterProtocols.find((one) => one.id === id);
  if (id !== undefined && !protocol)
    return <Empty>This protocol is not on this tablet. Choose one from the list of protocols.</Empty>;
  if (protocol) return <Whole protocol={protocol} row={row} />;
  return (
    <Plate first title="Protocols" note="What the next step is taken from. Examples, not approved.">
      <ul className={styles['list']}>
        {starterProtocols.map((one) => (
          <li key={one.id}>
            <KeyLink href={addressOf('protocol', one.id)}>{one.title}</KeyLink>
            <span className="label">
              version {one.version}, {one.tables.reduce((sum, table) => sum + table.rows.length, 0)} rows,
              example, not approved
            </span>
          </li>
        ))}
      </ul>
    </Plate>
  );
}
