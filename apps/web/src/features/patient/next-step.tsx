/**
 * The next step, always in this order: time, step, owner, sentence, the rule line as written with its id and version,
 * whether it was approved, then the keys. It advises; every key below it is open whatever it says.
 */
import { lazy, Suspense, useCallback, type ReactNode } from 'react';
import {
  approvalWords,
  clockOrDay,
  duration,
  forecastSentence,
  hasEstimate,
  labels,
  nextStepSentence,
  ownerWords,
  relative,
  whyDue,
} from '@ebbline/core/present';
import type { DueItem, PatientFacts } from '@ebbline/core/facts';
import { mayView, mayWrite, type Directory, type Role } from '@ebbline/core/record';
import { Why } from '../../shared/bedside/why.tsx';
import { KeyLink } from '../../shared/key.tsx';
import { Mark } from '../../shared/marks.tsx';
import { SeenKey } from './seen-key.tsx';
import { addressOf } from '../../shell/address.ts';
import { useProtocols } from '../../shell/hooks.ts';
import styles from './next-step.module.css';

/** The tables and the engine come after the page: nothing here waits for them, and without them it draws nothing. */
const MoveVersion = lazy(() => import('./move-version.tsx').catch(() => ({ default: (): null => null })));

const formOfStep: Partial<Record<DueItem['step'], readonly [form: string, words: string]>> = {
  'drain-in-out': ['drained', 'Drained'],
  'leave-catheter-and-plan': ['catheter-placed', 'Catheter placed'],
  'remove-catheter': ['catheter-removed', 'Catheter removed'],
  'review-catheter': ['catheter-reviewed', 'Catheter reviewed'],
  'check-catheter': ['catheter-status', 'How the catheter is'],
  'call-clinician': ['call-made', 'Call someone'],
  emergency: ['call-made', 'Call someone'],
  'watch-can-end': ['watch-closed', 'End the watch'],
};

/** The one main key: what the step asks to be recorded. */
function mainKey(item: DueItem | undefined, facts: PatientFacts): readonly [form: string, words: string] {
  if (facts.watch.state === 'none' || facts.watch.state === 'closed')
    return ['watch-opened', 'Start a watch'];
  if (item?.kind === 'call-reply') return ['call-answered', 'Call answered'];
  if (item?.kind === 'return') return ['watch-resumed', 'Back again'];
  if (item?.kind === 'catheter-review') return ['catheter-reviewed', 'Catheter reviewed'];
  if (item?.kind === 'catheter-removal') return ['catheter-removed', 'Catheter removed'];
  return (
    (item && item.kind === 'step' ? formOfStep[item.step] : undefined) ?? ['reading', 'Record a reading']
  );
}

function OneItem({
  item,
  facts,
  zone,
  directory,
  role,
  first,
}: {
  readonly item: DueItem;
  readonly facts: PatientFacts;
  readonly zone: string;
  readonly directory: Directory;
  readonly role: Role;
  readonly first: boolean;
}): ReactNode {
  const versions = useProtocols();
  const row = item.row;
  const signed =
    row?.approved === true
      ? versions.find(
          (one) =>
            one.published !== undefined &&
            one.protocol.id === row.protocolId &&
            one.protocol.version === row.protocolVersion,
        )
      : undefined;
  const title =
    item.kind === 'look' || item.kind === 'step' || item.kind === 'residual'
      ? labels.steps[item.step]
      : labels.dueKinds[item.kind];
  const Title = first ? 'h2' : 'h3';
  const sentence = nextStepSentence(item, facts, zone);
  const explain = useCallback(() => whyDue(item, facts, zone, directory), [directory, facts, item, zone]);
  const ruleName = item.row ? (
    <>
      <b>Rule {item.row.id}</b>, {item.row.protocolId.replaceAll('-', ' ')}, version{' '}
      {item.row.protocolVersion}
    </>
  ) : null;
  return (
    <div className={first ? styles['first'] : styles['further']}>
      <Title className={item.overdue ? styles['act'] : undefined}>
        <span className={styles['time']}>
          {item.overdue ? <Mark name="overdue" size={first ? 28 : 18} /> : null}{' '}
          {clockOrDay(item.dueAtMs, facts.nowMs, zone)}
        </span>{' '}
        <span className={styles['step']}>{title}</span>
      </Title>
      <p className={styles['owner']}>
        {item.overdue ? <b>{duration(item.overdueMin)} overdue</b> : relative(item.dueAtMs, facts.nowMs)} ·{' '}
        {ownerWords(item.owner, directory)} has it
        {item.climbed === 'owner'
          ? ''
          : item.climbed === 'charge-nurse'
            ? ', and the charge nurse'
            : ', the charge nurse, and the unit’s notice'}
      </p>
      <p className={`speak ${styles['sentence'] ?? ''}`}>{sentence}</p>
      {item.kind === 'look' && item.step === 'look-again' && hasEstimate(facts) ? (
        <Why of="The time of this look" explain={explain} />
      ) : null}
      {item.tell === undefined ? null : <p>Tell: {item.tell}</p>}
      <SeenKey item={item} patient={facts.patient} role={role} directory={directory} />
      {item.row ? (
        <div className={styles['rule']}>
          <p>
            {mayView(role, 'protocol') ? (
              <a
                href={
                  item.row.approved
                    ? addressOf('protocol', item.row.protocolId, `v${item.row.protocolVersion}`, item.row.id)
                    : addressOf('protocol', item.row.protocolId, item.row.id)
                }
              >
                {ruleName}
              </a>
            ) : (
              ruleName
            )}
          </p>
          {sentence.includes(item.row.text) ? null : <blockquote>“{item.row.text}”</blockquote>}
          <p className={styles['approval']}>
            {signed
              ? approvalWords(signed.protocol.approval, facts.nowMs, zone, signed.retired)
              : item.row.approved
                ? 'Signed by this unit; who and until when is not on this tablet'
                : approvalWords('example-not-approved', facts.nowMs, zone)}
          </p>
        </div>
      ) : null}
    </div>
  );
}

export function NextStep({
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
  const items = facts.due.toSorted((a, b) => Number(b.overdue) - Number(a.overdue) || a.dueAtMs - b.dueAtMs);
  const [first, ...others] = items;
  const [mainForm, mainWords] = mainKey(first, facts);
  const notWatched = facts.watch.state === 'none' || facts.watch.state === 'closed';
  const can = (form: string): boolean =>
    mayWrite(
      role,
      form === 'call-made'
        ? 'call-made'
        : form === 'step-answered'
          ? 'step-answered'
          : form === 'reading'
            ? 'reading'
            : form === 'void'
              ? 'void'
              : form === 'drained'
                ? 'drained'
                : 'watch-opened',
    );
  const keys: readonly (readonly [string, string])[] = [
    ['reading', 'Record a reading'],
    ['void', 'Passed'],
    ['drained', 'Drained'],
    ['call-made', 'Call someone'],
    ['step-answered', 'Other step, and why'],
  ];
  return (
    <section className={styles['card']} aria-label="Next step" data-next-step="">
      <p className="label">Next step</p>
      {first ? (
        <OneItem item={first} facts={facts} zone={zone} directory={directory} role={role} first />
      ) : (
        <div className={styles['first']}>
          <h2>
            <span className={styles['step']}>
              {facts.watch.state === 'none'
                ? 'Nobody is on watch here'
                : facts.watch.state === 'closed'
                  ? 'The watch has ended'
                  : 'Nothing is due'}
            </span>
          </h2>
          {notWatched ? null : (
            <p className={styles['owner']}>{ownerWords(facts.owner, directory)} has the watch</p>
          )}
          <p className={`speak ${styles['sentence'] ?? ''}`}>
            {facts.watch.state === 'none'
              ? 'Start a watch with a reason, a last void and a limit.'
              : facts.watch.state === 'closed'
                ? 'No look is due and nobody is asked. Start a watch again if it is needed.'
                : forecastSentence(facts, zone)}
          </p>
        </div>
      )}
      {facts.watch.protocol && mayView(role, 'patient') ? (
        <Suspense fallback={null}>
          <MoveVersion facts={facts} zone={zone} role={role} />
        </Suspense>
      ) : null}
      <div className={styles['keys']}>
        {can(mainForm) ? (
          <div className={styles['main']}>
            <KeyLink look="main" href={addressOf('entry', facts.patient, mainForm)}>
              {mainWords}
            </KeyLink>
          </div>
        ) : null}
        {keys
          .filter(
            ([form]) =>
              form !== mainForm && can(form) && (form !== 'step-answered' || first?.row !== undefined),
          )
          .map(([form, words]) => (
            <KeyLink key={form} href={addressOf('entry', facts.patient, form)}>
              {words}
            </KeyLink>
          ))}
        <KeyLink href={addressOf('entry', facts.patient)}>Record something else</KeyLink>
      </div>
      {others.map((item) => (
        <OneItem
          key={item.key}
          item={item}
          facts={facts}
          zone={zone}
          directory={directory}
          role={role}
          first={false}
        />
      ))}
    </section>
  );
}
