/** Signing and retiring: what is about to be done in words, a day or a reason, and the PIN of who does it. */
import { useState, type ReactNode } from 'react';
import { calendarDay, dayMs, type Refusal } from '@ebbline/core/quantity';
import { dayInWords, labels } from '@ebbline/core/present';
import { latestReviewDay, type ProtocolVersion } from '@ebbline/protocol';
import { Dialog } from '../../shared/dialog.tsx';
import { Field } from '../../shared/field.tsx';
import { Key } from '../../shared/key.tsx';
import { RefusalNotice } from '../../shared/plate.tsx';
import { useMe, useNow, useReplica } from '../../shell/hooks.ts';
import type { ProtocolRequest } from '../../shell/remote.ts';
import { useWardOf } from './use-ward-of.ts';
import styles from './protocol.module.css';

/** A year ahead, or as far as the unit allows. */
const usualReviewDays = 365; // S-common-practice

interface Deciding {
  readonly version: ProtocolVersion;
  readonly onClose: () => void;
}

function useDecision(onClose: () => void): {
  readonly busy: boolean;
  readonly refusal: Refusal | undefined;
  readonly decide: (request: ProtocolRequest) => Promise<void>;
} {
  const replica = useReplica();
  const [busy, setBusy] = useState(false);
  const [refusal, setRefusal] = useState<Refusal>();
  return {
    busy,
    refusal,
    decide: async (request) => {
      setBusy(true);
      const refused = await replica.askOfProtocols(request);
      setBusy(false);
      setRefusal(refused);
      if (refused === undefined) onClose();
    },
  };
}

function Pin({
  value,
  onChange,
}: {
  readonly value: string;
  readonly onChange: (pin: string) => void;
}): ReactNode {
  return (
    <Field
      label="Your PIN"
      type="password"
      inputMode="numeric"
      autoComplete="off"
      value={value}
      onChange={(event) => onChange(event.target.value)}
    />
  );
}

export function SignDialog({ version, onClose }: Deciding): ReactNode {
  const me = useMe();
  const ward = useWardOf(version);
  const nowMs = useNow();
  const latest = latestReviewDay(ward.settings, nowMs, ward.zone);
  const usual = calendarDay(nowMs + usualReviewDays * dayMs, ward.zone);
  const [reviewBy, setReviewBy] = useState(usual < latest ? usual : latest);
  const [pin, setPin] = useState('');
  const { busy, refusal, decide } = useDecision(onClose);
  const { id, title, version: number } = version.protocol;
  return (
    <Dialog title={`Sign ${title}, version ${number}`} onClose={onClose}>
      <form
        className={styles['decide']}
        onSubmit={(event) => {
          event.preventDefault();
          void decide({
            ask: 'publish',
            id,
            version: number,
            contentDigest: version.contentDigest,
            reviewBy,
            pin,
          });
        }}
      >
        <p className="speak">
          New watches on {ward.name} then go by it, under your name. Those that have begun keep theirs until
          somebody moves them. It can’t be changed afterwards, only retired. It advises; local protocol, scope
          of practice and prescriber orders come first.
        </p>
        <Field
          label="To be reviewed by"
          type="date"
          required
          value={reviewBy}
          min={calendarDay(nowMs + dayMs, ward.zone)}
          max={latest}
          hint={`At the latest ${dayInWords(latest)}.`}
          onChange={(event) => setReviewBy(event.target.value)}
        />
        <Pin value={pin} onChange={setPin} />
        {refusal ? <RefusalNotice refusal={refusal} /> : null}
        <div className={styles['keys']}>
          <Key look="main" type="submit" disabled={busy || pin === ''}>
            Sign and publish as {me.name}, {labels.roles[me.role].toLowerCase()}
          </Key>
          <Key onClick={onClose}>Not now</Key>
        </div>
      </form>
    </Dialog>
  );
}

export function RetireDialog({ version, onClose }: Deciding): ReactNode {
  const [reason, setReason] = useState('');
  const [pin, setPin] = useState('');
  const { busy, refusal, decide } = useDecision(onClose);
  const { id, title, version: number } = version.protocol;
  const waits = version.state === 'proved';
  return (
    <Dialog title={`${waits ? 'Take back' : 'Retire'} ${title}, version ${number}`} onClose={onClose}>
      <form
        className={styles['decide']}
        onSubmit={(event) => {
          event.preventDefault();
          void decide({ ask: 'retire', id, version: number, reason, pin });
        }}
      >
        <p className="speak">
          {waits
            ? 'Nobody is advised by it. It stays in the list, with your reason.'
            : 'New watches then go by the version before it, or by the example. Those that have begun keep it, with a word that it was retired, until somebody moves them.'}
        </p>
        <Field
          label="Why"
          required
          minLength={3}
          maxLength={600}
          value={reason}
          onChange={(event) => setReason(event.target.value)}
        />
        <Pin value={pin} onChange={setPin} />
        {refusal ? <RefusalNotice refusal={refusal} /> : null}
        <div className={styles['keys']}>
          <Key look="main" type="submit" disabled={busy || pin === '' || reason.trim().length < 3}>
            {waits ? 'Take it back' : 'Retire it'}
          </Key>
          <Key onClick={onClose}>Leave it</Key>
        </div>
      </form>
    </Dialog>
  );
}
