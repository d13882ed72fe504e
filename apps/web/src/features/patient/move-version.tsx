/**
 * The watch keeps the version of its first step. Where another is in force by now, its difference stands behind one key:
 * in words, and what it changes for this patient now. Moving is one tap, kept as an entry.
 */
import { useMemo, useState, type ReactNode } from 'react';
import { foldPatient, type PatientFacts } from '@ebbline/core/facts';
import { addMinutes, instantMs, instantOfMs, isRefusal, type Refusal } from '@ebbline/core/quantity';
import { clockOrDay, labels } from '@ebbline/core/present';
import { mayWrite, type Advice, type Role } from '@ebbline/core/record';
import { moveEntries, moveOffer, type MoveOffer } from '@ebbline/protocol';
import { saved } from '../../shared/bedside/saved.ts';
import { Dialog } from '../../shared/dialog.tsx';
import { Key } from '../../shared/key.tsx';
import { RefusalNotice } from '../../shared/plate.tsx';
import { useProtocols, useReplica } from '../../shell/hooks.ts';
import styles from './next-step.module.css';

/** `Look again at 14:40, nurse: row AS-31.` */
function adviceWords(advice: Advice | Refusal, offer: MoveOffer, nowMs: number, zone: string): string {
  if (isRefusal(advice)) return `No step. ${advice.todo}`;
  const at = clockOrDay(instantMs(addMinutes(offer.because.effectiveAt, advice.dueInMin)), nowMs, zone);
  return `${labels.steps[advice.step]} at ${at}, ${labels.roles[advice.ownerRole].toLowerCase()}: row ${advice.row.id}.`;
}

function Difference({
  offer,
  facts,
  zone,
  onMove,
  onClose,
}: {
  readonly offer: MoveOffer;
  readonly facts: PatientFacts;
  readonly zone: string;
  readonly onMove: () => Promise<Refusal | undefined>;
  readonly onClose: () => void;
}): ReactNode {
  const [busy, setBusy] = useState(false);
  const [refusal, setRefusal] = useState<Refusal>();
  const { changes, before, after, from, to } = offer;
  const say = (advice: Advice | Refusal): string => adviceWords(advice, offer, facts.nowMs, zone);
  const now = before && say(before);
  const then = say(after);
  return (
    <Dialog title={`From version ${from.version} to ${to.title}, version ${to.version}`} onClose={onClose}>
      <div className={styles['difference']}>
        <h3>For this patient now</h3>
        <p className="speak" data-move-now>
          {now === undefined
            ? `With version ${to.version}: ${then} The tables of version ${from.version} are not on this tablet.`
            : now === then
              ? `The step stays the same. ${then}`
              : `Now: ${now} With version ${to.version}: ${then}`}
        </p>
        {facts.due[0]?.broughtForward ? <p>The forecast brings the look forward as before.</p> : null}
        <h3>What the version changes</h3>
        {changes === undefined ? (
          <p>It can’t be told row by row here.</p>
        ) : changes.length === 0 ? (
          <p>No row is another one.</p>
        ) : (
          <ul data-move-changes>
            {changes.map((one) => (
              <li key={`${one.decision} ${one.rowId} ${one.words}`}>
                <strong>{one.rowId}</strong>: {one.words}.
              </li>
            ))}
          </ul>
        )}
        <p>It advises; the person in front of you and prescriber orders come first.</p>
        {refusal ? <RefusalNotice refusal={refusal} /> : null}
        <div className={styles['keys']}>
          <Key
            look="main"
            disabled={busy || isRefusal(after)}
            onClick={() => {
              setBusy(true);
              void onMove().then((refused) => {
                setBusy(false);
                setRefusal(refused);
              });
            }}
          >
            Move this patient to version {to.version}
          </Key>
          <Key onClick={onClose}>Keep version {from.version}</Key>
        </div>
      </div>
    </Dialog>
  );
}

export default function MoveVersion({
  facts,
  zone,
  role,
}: {
  readonly facts: PatientFacts;
  readonly zone: string;
  readonly role: Role;
}): ReactNode {
  const replica = useReplica();
  const versions = useProtocols();
  const [open, setOpen] = useState(false);
  const { patient, settings } = facts;
  const offer = useMemo(
    () =>
      moveOffer({
        facts,
        versions,
        zone,
        factsAt: (nowMs) =>
          foldPatient({ patient, entries: replica.entriesOf(patient), nowMs, settings, zone }),
      }),
    [facts, patient, replica, settings, versions, zone],
  );
  if (!offer) return null;
  const { to, from } = offer;
  const move = async (): Promise<Refusal | undefined> => {
    const made = moveEntries(offer);
    if (isRefusal(made)) return made;
    const kept = await replica.record([
      { patient, kind: 'protocol-moved', payload: made.moved },
      {
        patient,
        kind: 'step-advised',
        payload: made.step,
        ...(made.stepAt === undefined ? {} : { effectiveAt: made.stepAt }),
      },
    ]);
    if (isRefusal(kept)) return kept;
    saved.say({
      patient,
      ids: kept.map((entry) => entry.id),
      atMs: instantMs(kept[0]?.recordedAt ?? instantOfMs(facts.nowMs)),
      words: `moved to ${to.title}, version ${to.version}`,
    });
    setOpen(false);
    return undefined;
  };
  return (
    <div className={styles['moving']} data-move-offer>
      <p>
        {to.title}, version {to.version}, is in force here. This watch keeps version {from.version}.
      </p>
      {mayWrite(role, 'protocol-moved') ? <Key onClick={() => setOpen(true)}>See the difference</Key> : null}
      {open ? (
        <Difference offer={offer} facts={facts} zone={zone} onMove={move} onClose={() => setOpen(false)} />
      ) : null}
    </div>
  );
}
