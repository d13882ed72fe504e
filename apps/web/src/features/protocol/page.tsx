/**
 * `#/protocol` lists what the unit goes by, and this person's drafts; `#/protocol/<id>/<row>` shows its tables with
 * that row marked, reading only; `#/protocol/draft/<id>` is the editor. An example stays an example until it is signed.
 */
import { Fragment, useState, type ReactNode } from 'react';
import {
  type CompiledProtocol,
  type CompiledTable,
  inputWords,
  outputTitle,
  starterProtocols,
  tableTitle,
  testWords,
  valueWords,
} from '@ebbline/protocol';
import { addressOf } from '../../shell/address.ts';
import { useMe } from '../../shell/hooks.ts';
import type { PageProps } from '../../shell/page.ts';
import { Key, KeyLink } from '../../shared/key.tsx';
import { Empty, Notice, Plate } from '../../shared/plate.tsx';
import { draftOf } from './draft.ts';
import { draftKept, draftsKept, forgetDraft, keepDraft } from './draft-store.ts';
import { DraftPage } from './draft-page.tsx';
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
                {outputTitle(name)}
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
    const words = testWords(rule.tests[index] ?? 0);
    return words === '' ? [] : [[inputWords(name), words] as const];
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
            <h3 className={styles['title']}>{tableTitle(table.decision)}</h3>
            <Table table={table} marked={row} />
          </Fragment>
        ))}
        <div className={styles['keys']}>
          <MakeDraft protocol={protocol} />
          <KeyLink href={addressOf('protocol')} look="plain">
            All protocols
          </KeyLink>
        </div>
      </Plate>
    </>
  );
}

/** Opens a draft of the next version. One draft a protocol and author: an open one is gone on with. */
function MakeDraft({ protocol }: { readonly protocol: CompiledProtocol }): ReactNode {
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

function Drafts(): ReactNode {
  const me = useMe();
  const [drafts, setDrafts] = useState(() => draftsKept(me.id));
  if (drafts.length === 0) return null;
  return (
    <Plate title="My drafts" note="On this tablet. Nobody is advised by them.">
      <ul className={styles['list']}>
        {drafts.map((one) => (
          <li key={one.id}>
            <KeyLink href={addressOf('protocol', 'draft', one.id)}>Draft: {one.protocol.title}</KeyLink>
            <Key
              look="plain"
              onClick={() => {
                if (!confirm(`Throw away the draft of “${one.protocol.title}”? It can’t be brought back.`))
                  return;
                forgetDraft(me.id, one.id);
                setDrafts(draftsKept(me.id));
              }}
            >
              Throw away
            </Key>
          </li>
        ))}
      </ul>
    </Plate>
  );
}

export default function ProtocolPage({ path }: PageProps): ReactNode {
  const [id, row] = path;
  if (id === 'draft') return <DraftPage key={row} id={row ?? ''} />;
  const protocol = starterProtocols.find((one) => one.id === id);
  if (id !== undefined && !protocol)
    return <Empty>This protocol is not on this tablet. Choose one from the list of protocols.</Empty>;
  if (protocol) return <Whole protocol={protocol} row={row} />;
  return (
    <>
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
      <Drafts />
    </>
  );
}
