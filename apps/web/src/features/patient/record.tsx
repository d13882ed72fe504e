/** The whole record of one patient, newest first: originals visible, corrections beside them, decisions to review on top. */
import { useMemo, useState, type ReactNode } from 'react';
import { ageWords, labels, timelineRows, type TimelineRow } from '@ebbline/core/present';
import { isRefusal, type Refusal } from '@ebbline/core/quantity';
import type { PatientFacts } from '@ebbline/core/facts';
import { mayWrite, type Directory, type ImageEvidence, type Role } from '@ebbline/core/record';
import { Dialog } from '../../shared/dialog.tsx';
import { Choice } from '../../shared/field.tsx';
import { Key, KeyLink } from '../../shared/key.tsx';
import { KeptOutlines } from '../../shared/planes/kept-outlines.tsx';
import { Plate, RefusalNotice } from '../../shared/plate.tsx';
import { addressOf } from '../../shell/address.ts';
import { useReplica } from '../../shell/hooks.ts';
import { canBeWithdrawn, move, withdrawal, type CorrectionReason } from './correcting.ts';
import styles from './patient.module.css';

/** Kinds with a form of their own to be written anew in. */
const formOfKind: Readonly<Record<string, string>> = {
  reading: 'reading',
  void: 'void',
  drained: 'drained',
  instilled: 'instilled',
  intake: 'intake',
  'bag-read': 'bag-read',
  symptom: 'symptom',
  caution: 'caution',
  consent: 'consent',
  'catheter-placed': 'catheter-placed',
  'catheter-removed': 'catheter-removed',
  'catheter-reviewed': 'catheter-reviewed',
  'catheter-status': 'catheter-status',
  'watch-opened': 'watch-opened',
  'watch-paused': 'watch-paused',
  told: 'told',
  'call-made': 'call-made',
};

/** `Drained: in and out 450 mL`; a volume that is a word (not obtained) has no unit. */
const rowWords = (row: TimelineRow): string =>
  `${row.what}${row.volume === '' ? '' : ` ${row.volume}${/[a-z]$/.test(row.volume) ? '' : ' mL'}`}`;

const isWatched = (facts: PatientFacts): boolean =>
  facts.watch.state === 'open' || facts.watch.state === 'paused';
const whoWords = (facts: PatientFacts): string => `Bed ${facts.bed}, ${facts.initials} ${ageWords(facts)}`;

interface Asked {
  readonly row: TimelineRow;
  readonly what: 'withdraw' | 'move';
}

function Ask({
  asked,
  facts,
  close,
}: {
  readonly asked: Asked;
  readonly facts: PatientFacts;
  readonly close: () => void;
}): ReactNode {
  const replica = useReplica();
  const [reason, setReason] = useState<CorrectionReason>();
  const [target, setTarget] = useState('');
  const [refusal, setRefusal] = useState<Refusal>();
  const others = useMemo(
    () =>
      replica
        .patients()
        .filter((one) => one !== facts.patient)
        .map((one) => replica.factsOf(one))
        .filter((one) => one.ward === facts.ward && one.identity !== undefined)
        .toSorted((a, b) => a.bed.localeCompare(b.bed, undefined, { numeric: true })),
    [facts.patient, facts.ward, replica],
  );
  const act = async (): Promise<void> => {
    const draft =
      asked.what === 'withdraw'
        ? reason === undefined
          ? undefined
          : withdrawal(facts.patient, asked.row.id, reason)
        : target === ''
          ? undefined
          : move(facts.patient, asked.row.id, target);
    if (!draft) return;
    const kept = await replica.record([draft]);
    if (isRefusal(kept)) setRefusal(kept);
    else close();
  };
  return (
    <Dialog
      title={asked.what === 'withdraw' ? 'Withdraw this entry' : 'Move to another patient'}
      onClose={close}
    >
      <div className={styles['ask']}>
        <p className="speak">
          {asked.row.time} {rowWords(asked.row)}. It stays visible here, struck through. Steps that relied on
          it are listed for review.
        </p>
        {asked.what === 'withdraw' ? (
          <div className={styles['rowKeys']}>
            {Object.entries(labels.correctionReasons).map(([word, label]) => (
              <Key key={word} chosen={reason === word} onClick={() => setReason(word as CorrectionReason)}>
                {label}
              </Key>
            ))}
          </div>
        ) : (
          <Choice
            label="To whom does it belong?"
            value={target}
            onChange={(event) => setTarget(event.target.value)}
          >
            <option value="">Choose a patient</option>
            {others.filter(isWatched).map((one) => (
              <option key={one.patient} value={one.patient}>
                {whoWords(one)}
              </option>
            ))}
            <optgroup label="Not on watch now">
              {others
                .filter((one) => !isWatched(one))
                .map((one) => (
                  <option key={one.patient} value={one.patient}>
                    {whoWords(one)}
                  </option>
                ))}
            </optgroup>
          </Choice>
        )}
        {refusal ? <RefusalNotice refusal={refusal} /> : null}
        <div className={styles['rowKeys']}>
          <Key
            look="main"
            disabled={asked.what === 'withdraw' ? reason === undefined : target === ''}
            onClick={() => void act()}
          >
            {asked.what === 'withdraw' ? 'Withdraw' : 'Move it'}
          </Key>
          <Key onClick={close}>Leave it as it is</Key>
        </div>
      </div>
    </Dialog>
  );
}

/** Opened by a person: most readings are never asked how they were drawn. */
function Outlines({
  evidence,
  what,
}: {
  readonly evidence: ImageEvidence | undefined;
  readonly what: string;
}): ReactNode {
  const [open, setOpen] = useState(false);
  if (!evidence) return null;
  return (
    <>
      <Key
        aria-label={`${open ? 'Close' : 'Look at'} the outlines of ${what}`}
        aria-expanded={open}
        onClick={() => setOpen(!open)}
      >
        {open ? 'Close the outlines' : 'Look at the outlines'}
      </Key>
      {open ? <KeptOutlines evidence={evidence} /> : null}
    </>
  );
}

export function RecordView({
  facts,
  zone,
  directory,
  role,
}: {
  readonly facts: PatientFacts;
  readonly zone: string;
  readonly directory: Directory;
  readonly role: Role;
}): ReactNode {
  const [asked, setAsked] = useState<Asked>();
  const rows = useMemo(() => timelineRows(facts, zone, directory).toReversed(), [directory, facts, zone]);
  const entries = useMemo(() => new Map(facts.timeline.map((one) => [one.entry.id, one])), [facts]);
  const wordsOf = (id: string): string => {
    const row = rows.find((one) => one.id === id);
    return row ? `${row.time} ${rowWords(row)}` : 'an entry that is kept elsewhere';
  };
  // A step that was itself taken back, with its entry or after it, asks nothing of anybody.
  const toReview = facts.toReview.filter(
    (one) => !rows.some((row) => row.id === one.decision && row.setAside),
  );
  return (
    <>
      {toReview.length > 0 ? (
        <Plate title="Decisions to review" note="made on an entry that was changed afterwards">
          <ul className={`speak ${styles['mind'] ?? ''}`}>
            {toReview.map((one) => (
              <li key={`${one.decision} ${one.reliedOn}`}>
                {wordsOf(one.decision)} relied on {wordsOf(one.reliedOn)}, which was{' '}
                {one.standing.state === 'moved' ? 'moved to another patient' : one.standing.state}.
              </li>
            ))}
          </ul>
        </Plate>
      ) : null}
      <Plate title="Record" note={`${rows.length} entries, newest first`}>
        <ol className={styles['record']}>
          {rows.map((row) => {
            const one = entries.get(row.id);
            const entry = one?.entry;
            const form = entry ? formOfKind[entry.kind] : undefined;
            const open = one !== undefined && canBeWithdrawn(one) && mayWrite(role, 'withdrawn');
            return (
              <li
                key={row.id}
                className={row.setAside ? styles['setAside'] : undefined}
                data-standing={row.standing.state}
              >
                <b className={styles['rowTime']}>{row.time}</b>
                <div>
                  <p>
                    {row.setAside ? (
                      <s>
                        {row.what} {row.volume}
                      </s>
                    ) : (
                      <>
                        {row.what} <b>{row.volume}</b>
                      </>
                    )}
                    {row.volume === '' || /[a-z]$/.test(row.volume) ? '' : ' mL'}
                  </p>
                  <p className={styles['remark']}>{row.remark}</p>
                  {entry?.kind === 'reading' && (entry.payload.evidence?.positions.length ?? 0) > 0 ? (
                    <Outlines evidence={entry.payload.evidence} what={`${row.time} ${row.what}`} />
                  ) : null}
                  <p className="label">
                    {row.by}
                    {entry?.corrects === undefined ? '' : ` · in place of ${wordsOf(entry.corrects)}`}
                  </p>
                </div>
                {open ? (
                  <div className={styles['fix']}>
                    {form === undefined || !mayWrite(role, entry?.kind ?? 'reading') ? null : (
                      <KeyLink href={addressOf('entry', facts.patient, form, row.id)}>Put right</KeyLink>
                    )}
                    <Key
                      aria-label={`Withdraw: ${row.time} ${row.what}`}
                      onClick={() => setAsked({ row, what: 'withdraw' })}
                    >
                      Withdraw
                    </Key>
                    {mayWrite(role, 'moved-to-patient') ? (
                      <Key
                        aria-label={`Move to another patient: ${row.time} ${row.what}`}
                        onClick={() => setAsked({ row, what: 'move' })}
                      >
                        Move
                      </Key>
                    ) : null}
                  </div>
                ) : null}
              </li>
            );
          })}
        </ol>
        <p className="label">Nothing is ever deleted.</p>
      </Plate>
      {asked ? <Ask asked={asked} facts={facts} close={() => setAsked(undefined)} /> : null}
    </>
  );
}
