/** `#/entry/<patient>` chooses what to record; `#/entry/<patient>/<form>` is the form; `from-paper` takes several at once; a third part names an entry to put right. */
import type { ReactNode } from 'react';
import { ageWords, formOf, forms, paperForms } from '@ebbline/core/present';
import { mayWrite } from '@ebbline/core/record';
import { useKept } from '../../shared/bedside/use-kept.ts';
import { KeyLink } from '../../shared/key.tsx';
import { Empty } from '../../shared/plate.tsx';
import { addressOf } from '../../shell/address.ts';
import { useFacts, useMe, useReplica } from '../../shell/hooks.ts';
import type { PageProps } from '../../shell/page.ts';
import { EntryForm } from './entry-form.tsx';
import { draftFromEntry } from './from-entry.ts';
import { FromPaper } from './from-paper.tsx';
import { paperDraftForm } from './paper-rows.ts';
import styles from './entry-form.module.css';

const shelves: readonly (readonly [title: string, ids: readonly string[]])[] = [
  ['Measured and passed', ['reading', 'calipers', 'void', 'drained', 'intake', 'bag-read']],
  ['The person', ['symptom', 'red-flag', 'caution', 'consent', 'limit', 'measure', 'drug', 'told']],
  ['Catheter', ['catheter-placed', 'catheter-status', 'catheter-reviewed', 'instilled', 'catheter-removed']],
  ['Calls and steps', ['call-made', 'call-answered', 'step-answered']],
  ['The watch', ['watch-opened', 'watch-paused', 'watch-resumed', 'watch-closed', 'transferred']],
];

function Menu({ patient }: { readonly patient: string }): ReactNode {
  const facts = useFacts(patient);
  const me = useMe();
  return (
    <div className={styles['menu']}>
      <h1>
        Record for bed {facts.bed}, {facts.initials} {ageWords(facts)}
      </h1>
      {shelves.map(([title, ids]) => {
        const open = ids.flatMap((id) =>
          forms.filter(
            (form) => form.id === id && mayWrite(me.role, form.kind) && form.notNow?.(facts) === undefined,
          ),
        );
        if (open.length === 0) return null;
        return (
          <section key={title}>
            <h2 className="label">{title}</h2>
            <ul>
              {open.map((form) => (
                <li key={form.id}>
                  <KeyLink href={addressOf('entry', patient, form.id)}>{form.title}</KeyLink>
                </li>
              ))}
            </ul>
          </section>
        );
      })}
      {paperForms.some((form) => mayWrite(me.role, form.kind)) ? (
        <section>
          <h2 className="label">Written on paper meanwhile</h2>
          <ul>
            <li>
              <KeyLink href={addressOf('entry', patient, paperDraftForm)}>
                From paper, several at once
              </KeyLink>
            </li>
          </ul>
        </section>
      ) : null}
      <KeyLink href={addressOf('patient', patient)} look="plain">
        Back to the patient
      </KeyLink>
    </div>
  );
}

export default function EntryPage({ path }: PageProps): ReactNode {
  const [patient, form, entryId] = path;
  const replica = useReplica();
  const kept = useKept(patient);
  if (kept === 'waiting') return <p className="quiet">Fetching the record…</p>;
  if (patient === undefined || kept === 'not-here')
    return <Empty>Nobody by that name is kept on this tablet. Choose a patient on the board.</Empty>;
  if (form === undefined) return <Menu patient={patient} />;
  if (form === paperDraftForm) return <FromPaper key={patient} patient={patient} />;
  const spec = formOf(form);
  if (!spec) return <Empty>There is no such form. Choose another from the patient's page.</Empty>;
  if (entryId === undefined) return <EntryForm key={`${patient}/${form}`} spec={spec} patient={patient} />;
  const entry = replica.entriesOf(patient).find((one) => one.id === entryId);
  const back = entry ? draftFromEntry(entry) : undefined;
  if (!entry || !back)
    return <Empty>That entry cannot be put right here. Withdraw it in the record, and write it anew.</Empty>;
  return (
    <EntryForm key={entryId} spec={back.spec} patient={patient} correcting={{ entry, draft: back.draft }} />
  );
}
