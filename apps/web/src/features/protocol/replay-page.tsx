/**
 * `#/protocol/draft/<id>/replay` and `#/protocol/<id>/v<number>/replay`: a draft, or a version that waits for its signature,
 * tried on the ward's finished watches and on made-up wards, beside the protocol in force. It prints for those who decide.
 */
import { useState, type ReactNode } from 'react';
import {
  inForce as inForceOn,
  starterFor,
  type CompiledProtocol,
  type ProtocolVersion,
} from '@ebbline/protocol';
import type { Ward, WatchSetting } from '@ebbline/core/record';
import { addressOf } from '../../shell/address.ts';
import { nowMs } from '../../shell/clock.ts';
import { dayWords, timeWords } from '../../shell/day-words.ts';
import { useDirectory, useEntries, useMe, useProtocols, useThisWard } from '../../shell/hooks.ts';
import { Key, KeyLink } from '../../shared/key.tsx';
import { Empty, Notice, Plate, RefusalNotice } from '../../shared/plate.tsx';
import { draftKept } from './draft-store.ts';
import { ReplayResults } from './replay-results.tsx';
import { partWords } from './replay-parts.ts';
import { useReplay } from './use-replay.ts';
import { useWardOf } from './use-ward-of.ts';
import styles from './replay.module.css';

const counts = [30, 100, 300] as const;
/** The same patients each time, so that two drafts can be laid side by side. */
const seed = 1;

export function ReplayPage({ id }: { readonly id: string }): ReactNode {
  const me = useMe();
  const ward = useThisWard();
  const [draft] = useState(() => draftKept(me.id, id));
  if (!draft)
    return <Empty>This draft is not on this tablet. Open a protocol and choose “Make a draft”.</Empty>;
  return (
    <Beside
      candidate={draft.protocol}
      named="draft"
      ward={ward}
      back={{ href: addressOf('protocol', 'draft', draft.id), words: 'Back to the draft' }}
    />
  );
}

/** A version that waits for its signature, for the person who is to sign it. */
export function VersionReplayPage({ version }: { readonly version: ProtocolVersion }): ReactNode {
  const ward = useWardOf(version);
  const { id, version: number } = version.protocol;
  return (
    <Beside
      candidate={version.protocol}
      named={`version ${number}, not signed yet`}
      ward={ward}
      back={{ href: addressOf('protocol', id, `v${number}`), words: `Back to version ${number}` }}
    />
  );
}

interface Candidate {
  readonly candidate: CompiledProtocol;
  readonly named: string;
  readonly ward: Ward;
  readonly back: { readonly href: string; readonly words: string };
}

/** Beside what a new watch of its setting goes by on the ward: the ward's own version, else the example. */
function Beside(given: Candidate): ReactNode {
  const versions = useProtocols();
  const setting = given.candidate.settings[0] as WatchSetting;
  const inForce = inForceOn(versions, given.ward.id, setting)?.protocol ?? starterFor(setting);
  if (!inForce)
    return <Empty>No protocol is in force for this setting, so there is nothing to lay it beside.</Empty>;
  return <Replay {...given} inForce={inForce} />;
}

function Replay({
  candidate,
  named,
  ward,
  back,
  inForce,
}: Candidate & { readonly inForce: CompiledProtocol }): ReactNode {
  const entries = useEntries();
  const directory = useDirectory();
  const [madeUpPatients, setMadeUpPatients] = useState<(typeof counts)[number]>(100);
  const [startedMs, setStartedMs] = useState<number>();
  const { replay, start, stop } = useReplay();
  const begin = (): void => {
    const atMs = nowMs();
    setStartedMs(atMs);
    start({
      kept: entries.map((entry) => ({ entry, receivedAt: entry.recordedAt })),
      inForce,
      draft: candidate,
      nowMs: atMs,
      wards: Object.fromEntries(
        directory.wards.map(({ id, settings, zone }) => [id, { settings, zone }] as const),
      ),
      ward: ward.id,
      madeUpPatients,
      seed,
    });
  };
  const running = replay.state === 'running';
  return (
    <div className={styles['page']}>
      <Plate
        first
        title={`Try it on the past: ${candidate.title}`}
        note={`${named}, beside version ${inForce.version}, which is in force on ${ward.name}`}
      >
        <Notice mark="not-known">
          <strong>Not signed. Example protocol, not approved.</strong> Nobody is advised by it. These figures
          do not say which protocol is better: people weigh them. Local protocol and prescriber orders come
          first.
        </Notice>
        <div className={styles['start']}>
          <fieldset className={styles['counts']}>
            <legend>Made-up patients</legend>
            {counts.map((count) => (
              <Key
                key={count}
                chosen={madeUpPatients === count}
                disabled={running}
                onClick={() => setMadeUpPatients(count)}
              >
                {count}
              </Key>
            ))}
          </fieldset>
          {running ? (
            <Key onClick={stop}>Stop</Key>
          ) : (
            <Key look="main" onClick={begin}>
              Try it
            </Key>
          )}
          {replay.state === 'done' ? <Key onClick={() => print()}>Print</Key> : null}
        </div>
        {running ? (
          <div className={styles['progress']}>
            <progress max={1} value={replay.share} aria-label="How much is done" />
            <span>{partWords(replay.share)}…</span>
          </div>
        ) : null}
        <output className="label" data-replay-said>
          {replay.state === 'idle' && replay.stopped
            ? 'Stopped. Nothing is shown of what was half done.'
            : replay.state === 'done' && startedMs !== undefined
              ? `Tried ${dayWords(startedMs, ward.zone)} ${timeWords(startedMs, ward.zone)}, ${ward.name}.`
              : ''}
        </output>
      </Plate>
      {replay.state === 'refused' ? <RefusalNotice refusal={replay.refusal} /> : null}
      {replay.state === 'done' ? <ReplayResults found={replay.found} /> : null}
      <div className="not-on-paper">
        <KeyLink href={back.href} look="plain">
          {back.words}
        </KeyLink>
      </div>
    </div>
  );
}
