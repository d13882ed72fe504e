/**
 * `#/protocol` lists what the ward goes by, its versions, and this person's drafts; `#/protocol/<id>/<row>` shows an
 * example with that row marked, `#/protocol/<id>/v<number>/<row>` a version of the ward's own; `#/protocol/draft/<id>`
 * is the editor. An example stays an example until somebody has signed.
 */
import { useState, type ReactNode } from 'react';
import { starterProtocols, type CompiledProtocol } from '@ebbline/protocol';
import { addressOf } from '../../shell/address.ts';
import { useMe, useProtocols } from '../../shell/hooks.ts';
import type { PageProps } from '../../shell/page.ts';
import { ProtocolReminders } from '../../shared/bedside/protocol-reminders.tsx';
import { Key, KeyLink } from '../../shared/key.tsx';
import { Empty, Notice, Plate } from '../../shared/plate.tsx';
import { draftsKept, forgetDraft } from './draft-store.ts';
import { DraftPage } from './draft-page.tsx';
import { ReplayPage, VersionReplayPage } from './replay-page.tsx';
import { PrintKeys } from './print-keys.tsx';
import { hasRule, MakeDraft, QuotedRule, Tables } from './tables.tsx';
import { VersionPage } from './version-page.tsx';
import { InForce, Versions } from './versions.tsx';
import styles from './protocol.module.css';

/** An example that ships. */
function Whole({
  protocol,
  row,
}: {
  readonly protocol: CompiledProtocol;
  readonly row: string | undefined;
}): ReactNode {
  return (
    <>
      <QuotedRule protocol={protocol} row={row} />
      <Plate first={!hasRule(protocol, row)} title={protocol.title} note={`version ${protocol.version}`}>
        <Notice mark="not-known">
          <strong>Example protocol, not approved.</strong> It advises; local protocol, scope of practice and
          prescriber orders come first. The tables are asked in this order; an empty cell means that anything
          fits.
        </Notice>
        <Tables protocol={protocol} row={row} />
        <div className={styles['keys']}>
          <MakeDraft protocol={protocol} />
          <PrintKeys protocol={protocol} />
          <KeyLink href={addressOf('protocol')} look="plain">
            All protocols
          </KeyLink>
        </div>
      </Plate>
    </>
  );
}

function Drafts(): ReactNode {
  const me = useMe();
  const [drafts, setDrafts] = useState(() => draftsKept(me.id));
  if (drafts.length === 0) return null;
  return (
    <Plate title="My drafts" note="On this tablet. Nobody is advised by them.">
      <ul className={`${styles['list']} ${styles['pairs']}`}>
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

/** The examples that ship, whatever the ward goes by. */
function Examples(): ReactNode {
  return (
    <Plate title="Examples" note="They ship with the program. Not approved.">
      <ul className={`${styles['list']} ${styles['pairs']}`}>
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

export default function ProtocolPage({ path }: PageProps): ReactNode {
  const [id, second, third] = path;
  const versions = useProtocols();
  if (id === 'draft' && third === 'replay') return <ReplayPage key={second} id={second ?? ''} />;
  if (id === 'draft') return <DraftPage key={second} id={second ?? ''} />;
  const number = /^v(\d+)$/.exec(second ?? '')?.[1];
  const version =
    number === undefined
      ? undefined
      : versions.find((one) => one.protocol.id === id && one.protocol.version === Number(number));
  if (version?.state === 'proved' && third === 'replay') return <VersionReplayPage version={version} />;
  if (version) return <VersionPage key={`${id} ${number}`} version={version} row={third} />;
  const protocol = starterProtocols.find(
    (one) => one.id === id && (number === undefined || one.version === Number(number)),
  );
  if (id !== undefined && !protocol)
    return <Empty>This protocol is not on this tablet. Choose one from the list of protocols.</Empty>;
  if (protocol) return <Whole protocol={protocol} row={number === undefined ? second : third} />;
  return (
    <>
      <InForce />
      <ProtocolReminders />
      <Versions />
      <Drafts />
      <Examples />
    </>
  );
}
