/** Handing over and taking over: SBAR for each patient, offered to a person or a role, read back and accepted one by one. */
import { useMemo, useState, type ReactNode } from 'react';
import { isRefusal, type Refusal } from '@ebbline/core/quantity';
import { personWords } from '@ebbline/core/present';
import { timeWords } from '../../shell/day-words.ts';
import {
  useDirectory,
  useEntries,
  useMe,
  useNetwork,
  useNow,
  useReplica,
  useThisWard,
  useWard,
} from '../../shell/hooks.ts';
import { stillMine } from '../../shared/bedside/still-mine.ts';
import { Choice } from '../../shared/field.tsx';
import { Key, KeyLink } from '../../shared/key.tsx';
import { Mark } from '../../shared/marks.tsx';
import { Empty, Notice, Plate, RefusalNotice } from '../../shared/plate.tsx';
import { AcceptBox } from './accept-box.tsx';
import { HandoverCardView } from './card.tsx';
import { GiveBox } from './give-box.tsx';
import { handoverViewOf, receiversOf, type HandoverCard, type Receiver } from './handover-view.ts';
import styles from './handover.module.css';

const occasions = { shift: 'My shift ends', break: 'I take a break', transfer: 'The patient moves' } as const;
type Occasion = keyof typeof occasions;

export default function HandoverPage(): ReactNode {
  const me = useMe();
  const replica = useReplica();
  const ward = useThisWard();
  const directory = useDirectory();
  const facts = useWard(ward.id);
  const network = useNetwork();
  const nowMs = useNow();
  const [to, setTo] = useState('');
  const [occasion, setOccasion] = useState<Occasion>('shift');
  const [refusal, setRefusal] = useState<Refusal | undefined>();
  const entries = useEntries();
  const elsewhere = useMemo(
    () => stillMine(entries, ward.id, me.id, replica.factsOf),
    [entries, me.id, replica, ward.id],
  );
  const view = handoverViewOf([...facts.patients, ...elsewhere], me, ward.zone, directory, nowMs);
  const receivers = receiversOf(me, ward, directory);
  const receiver: Receiver | undefined = receivers.find((one) => one.value === to);
  const open = view.mine.filter((card) => card.offer === undefined);

  const offer = async (cards: readonly HandoverCard[]): Promise<void> => {
    const answer = await replica.record(
      cards.map((card) => ({
        patient: card.facts.patient,
        kind: 'ownership-offered' as const,
        payload: { ...receiver?.to, occasion },
      })),
    );
    setRefusal(isRefusal(answer) ? answer : undefined);
  };
  const accept = async (card: HandoverCard, readBack: string): Promise<void> => {
    if (!card.offer) return;
    const answer = await replica.record([
      {
        patient: card.facts.patient,
        kind: 'ownership-accepted',
        payload: { offer: card.offer.id, readBack },
      },
    ]);
    setRefusal(isRefusal(answer) ? answer : undefined);
  };
  const takeBack = async (card: HandoverCard): Promise<void> => {
    if (card.offer)
      await replica.record([
        { patient: card.facts.patient, kind: 'withdrawn', payload: { of: card.offer.id, reason: 'other' } },
      ]);
  };

  const offered = view.mine.length - open.length;
  return (
    <div className={styles['page']}>
      <h1 className={styles['title']}>Handover</h1>
      <ul className={styles['counts']}>
        <li>
          <b>{view.mine.length}</b> with you
        </li>
        <li>
          <b>{offered}</b> offered, not yet accepted
        </li>
        <li>
          <b>{view.accepted.length}</b> accepted
        </li>
        <li>
          <b>{view.toMe.length}</b> offered to you
        </li>
        <li className={styles['equal']}>
          {view.itemsShown === view.itemsInRecord
            ? `Equal to the record: ${view.itemsShown} of ${view.itemsInRecord} open items stand here.`
            : `Not equal to the record: ${view.itemsShown} of ${view.itemsInRecord} open items stand here. Do not use this page; use the board.`}
        </li>
      </ul>
      {refusal ? <RefusalNotice refusal={refusal} /> : null}
      {elsewhere.map((one) => (
        <Notice key={one.patient} mark="no-reply">
          <strong>
            {one.initials} is now in{' '}
            {directory.wards.find((other) => other.id === one.ward)?.name ?? one.ward}, bed {one.bed}.
          </strong>{' '}
          Nobody there has accepted yet: you keep the watch until somebody does. Call them.
        </Notice>
      ))}
      {[...view.toMe, ...view.mine].flatMap((card) =>
        card.entry.mustName.map((item) => (
          <Notice
            key={`${card.facts.patient} ${item}`}
            mark={item.includes('call') ? 'no-reply' : 'overdue'}
            act
          >
            <strong>
              Bed {card.entry.bed}: {item}.
            </strong>{' '}
            It cannot be handed over in silence: it is accepted by name, or {card.entry.ownerShown} keeps it.
          </Notice>
        )),
      )}

      {view.toMe.length > 0 ? (
        <Plate title="Offered to you" note="the giver keeps each one until you accept it">
          {view.toMe.map((card) => (
            <HandoverCardView key={card.facts.patient} card={card}>
              <AcceptBox
                card={card}
                zone={ward.zone}
                giver={card.entry.ownerShown}
                onAccept={(readBack) => void accept(card, readBack)}
              />
            </HandoverCardView>
          ))}
        </Plate>
      ) : null}

      <Plate title="With you">
        {view.mine.length === 0 ? (
          <Empty>Nobody is with you. When somebody offers you a patient, it stands here.</Empty>
        ) : (
          <>
            <div className={styles['offer']}>
              <Choice label="Hand over to" value={to} onChange={(event) => setTo(event.target.value)}>
                <option value="">Choose who takes them</option>
                {receivers.map((one) => (
                  <option key={one.value} value={one.value}>
                    {one.label}
                  </option>
                ))}
              </Choice>
              <Choice
                label="Why"
                value={occasion}
                onChange={(event) => setOccasion(event.target.value as Occasion)}
              >
                {Object.entries(occasions).map(([value, words]) => (
                  <option key={value} value={value}>
                    {words}
                  </option>
                ))}
              </Choice>
              <Key
                look="main"
                disabled={receiver === undefined || open.length === 0}
                onClick={() => void offer(open)}
              >
                Offer {open.length === 1 ? 'the one' : `all ${open.length}`} not yet offered
              </Key>
            </div>
            {view.mine.map((card) => (
              <HandoverCardView key={card.facts.patient} card={card}>
                <GiveBox
                  card={card}
                  zone={ward.zone}
                  directory={directory}
                  receiver={receiver}
                  onOffer={() => void offer([card])}
                  onTakeBack={() => void takeBack(card)}
                />
              </HandoverCardView>
            ))}
          </>
        )}
      </Plate>

      {view.accepted.length > 0 ? (
        <Plate title="Handed over" note="in the last four hours">
          <ul>
            {view.accepted.map(({ card, by, atMs, readBack }) => (
              <li key={card.facts.patient} className={styles['done']}>
                <Mark name="accepted" size={18} />
                <span>
                  <b>Bed {card.entry.bed}</b>, {card.entry.who}: accepted {timeWords(atMs, ward.zone)} by{' '}
                  {personWords(by, directory)}. <i>“{readBack}”</i>
                </span>
              </li>
            ))}
          </ul>
        </Plate>
      ) : null}

      {view.othersOpen.length > 0 ? (
        <Plate title="Offered by others, not yet accepted">
          <ul>
            {view.othersOpen.map((card) => (
              <li key={card.facts.patient} className={styles['done']}>
                <Mark name="with-giver" size={18} />
                <span>
                  <b>Bed {card.entry.bed}</b>: still with {card.entry.ownerShown}, {card.entry.due}.
                </span>
              </li>
            ))}
          </ul>
        </Plate>
      ) : null}

      <div className={styles['foot']}>
        <p className="speak">
          {view.mine.length === 0
            ? 'Nothing is left with you.'
            : `You can leave when ${view.mine.length === 1 ? 'it is' : `all ${view.mine.length} are`} accepted, or the charge nurse takes what is left.`}
        </p>
        <Key onClick={() => print()}>Print this page</Key>
        {network.online ? (
          <KeyLink href={`/api/reports/handover.pdf?ward=${encodeURIComponent(ward.id)}`} target="_blank">
            Sheet of the ward, A4
          </KeyLink>
        ) : null}
      </div>
    </div>
  );
}
