/** `#/protocol/<id>/v<number>`: one version as it was sent, what it changed, and what may be done with it now. */
import { useState, type ReactNode } from 'react';
import { approvalWords, reviewState, reviewWords } from '@ebbline/core/present';
import { changesBetween, signerRefusal, starterProtocols, type ProtocolVersion } from '@ebbline/protocol';
import { Key, KeyLink } from '../../shared/key.tsx';
import { Notice, Plate } from '../../shared/plate.tsx';
import { addressOf } from '../../shell/address.ts';
import { useMe, useNow, useProtocols } from '../../shell/hooks.ts';
import { RetireDialog, SignDialog } from './decide.tsx';
import { PrintKeys } from './print-keys.tsx';
import { hasRule, MakeDraft, QuotedRule, Tables } from './tables.tsx';
import { versionBefore, versionWords } from './protocol-words.ts';
import { useWardOf } from './use-ward-of.ts';
import styles from './protocol.module.css';

function Decisions({ version }: { readonly version: ProtocolVersion }): ReactNode {
  const me = useMe();
  const ward = useWardOf(version);
  const [asking, setAsking] = useState<'sign' | 'retire'>();
  const owner = signerRefusal(version.ward, me) === undefined;
  const own = version.sent.person === me.id;
  const twoNeeded = own && ward.settings.protocolAuthorMaySign !== 1;
  const waits = version.state === 'proved';
  const maySign = waits && owner && !twoNeeded;
  const mayRetire = version.state !== 'retired' && (owner || (waits && own));
  return (
    <>
      {waits && !maySign ? (
        <p className="speak" data-why-not>
          {twoNeeded
            ? 'You sent it. A second person who owns the ward’s protocols has to read and sign it.'
            : 'A specialist nurse or a charge nurse of the ward signs it.'}
        </p>
      ) : null}
      <div className={styles['keys']}>
        {maySign ? (
          <Key look="main" onClick={() => setAsking('sign')}>
            Sign and publish
          </Key>
        ) : null}
        {mayRetire ? (
          <Key onClick={() => setAsking('retire')}>{waits ? 'Take it back' : 'Retire'}</Key>
        ) : null}
        <MakeDraft protocol={version.protocol} />
        {waits ? (
          <KeyLink
            href={addressOf('protocol', version.protocol.id, `v${version.protocol.version}`, 'replay')}
          >
            Try it on the past
          </KeyLink>
        ) : null}
        <PrintKeys protocol={version.protocol} />
        <KeyLink
          href={`/api/protocols/${encodeURIComponent(version.protocol.id)}/${version.protocol.version}/dmn`}
          download={`${version.protocol.id}-${version.protocol.version}.dmn`}
        >
          As a DMN file
        </KeyLink>
        <KeyLink href={addressOf('protocol')} look="plain">
          All protocols
        </KeyLink>
      </div>
      {asking === 'sign' ? <SignDialog version={version} onClose={() => setAsking(undefined)} /> : null}
      {asking === 'retire' ? <RetireDialog version={version} onClose={() => setAsking(undefined)} /> : null}
    </>
  );
}

function Differences({ version }: { readonly version: ProtocolVersion }): ReactNode {
  const versions = useProtocols();
  const before = versionBefore(version.protocol, versions, starterProtocols);
  const changes = before && changesBetween(before, version.protocol);
  return (
    <Plate
      title="What it changes"
      note={before ? `against version ${before.version}` : 'There is none before it'}
    >
      {changes === undefined ? null : changes.length === 0 ? (
        <p className="speak">Its rows are the same as before.</p>
      ) : (
        <ul className={styles['list']} data-differences>
          {changes.map((one) => (
            <li key={`${one.decision} ${one.rowId} ${one.words}`}>
              <p>
                <strong>{one.rowId}</strong>: {one.words}.
              </p>
            </li>
          ))}
        </ul>
      )}
    </Plate>
  );
}

export function VersionPage({
  version,
  row,
}: {
  readonly version: ProtocolVersion;
  readonly row: string | undefined;
}): ReactNode {
  const ward = useWardOf(version);
  const nowMs = useNow();
  const { protocol, published, state } = version;
  const review =
    state === 'published' && published && reviewState(published.reviewBy, ward.settings, nowMs, ward.zone);
  return (
    <>
      <QuotedRule protocol={protocol} row={row} />
      <Plate
        first={!hasRule(protocol, row)}
        title={protocol.title}
        note={`${ward.name}, version ${protocol.version}`}
      >
        <Notice mark="not-known">
          <strong>{versionWords(version, nowMs, ward.zone)}</strong>{' '}
          {review === 'soon' || review === 'past'
            ? `${reviewWords(published?.reviewBy ?? '', nowMs, ward.zone)} `
            : ''}
          {published
            ? 'It advises; local protocol, scope of practice and prescriber orders come first.'
            : `${approvalWords('example-not-approved', nowMs, ward.zone)}. Nobody is advised by it.`}
        </Notice>
        <Decisions version={version} />
      </Plate>
      <Differences version={version} />
      <Plate title="The tables" note="Asked in this order; an empty cell means that anything fits">
        <Tables protocol={protocol} row={row} />
      </Plate>
    </>
  );
}
