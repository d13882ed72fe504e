/** `#/protocol/draft/<id>`: one draft under edit, proved as it changes, tried on patients, kept on this tablet. */
import { useDeferredValue, useEffect, useMemo, useState, type ReactNode } from 'react';
import { isRefusal } from '@ebbline/core/quantity';
import { cellsOfFault, type Fault, type ProtocolInput, tableTitle } from '@ebbline/protocol';
import { addressOf } from '../../shell/address.ts';
import { useMe, useThisWard } from '../../shell/hooks.ts';
import { Key, KeyLink } from '../../shared/key.tsx';
import { Empty, Notice, Plate } from '../../shared/plate.tsx';
import {
  addRow,
  deleteRow,
  moveRow,
  redo,
  setTest,
  setValue,
  startHistory,
  step,
  undo,
  type Draft,
  type DraftHistory,
} from './draft.ts';
import { draftKept, keepDraft } from './draft-store.ts';
import { DraftFileKeys } from './draft-file-keys.tsx';
import { FaultList } from './fault-list.tsx';
import { Changes } from './changes.tsx';
import { Grid } from './grid.tsx';
import { ProofLine } from './proof-line.tsx';
import { Send } from './send.tsx';
import { MapOfSteps } from './step-map.tsx';
import { tryPatient, typedOf } from './try-model.ts';
import { TryPatient } from './try-patient.tsx';
import { useProof } from './use-proof.ts';
import styles from './editor.module.css';

export function DraftPage({ id }: { readonly id: string }): ReactNode {
  const me = useMe();
  const [first] = useState(() => draftKept(me.id, id));
  if (!first)
    return <Empty>This draft is not on this tablet. Open a protocol and choose “Make a draft”.</Empty>;
  return <Editor first={first} author={me.id} />;
}

function Editor({ first, author }: { readonly first: Draft; readonly author: string }): ReactNode {
  const [history, setHistory] = useState<DraftHistory>(() => startHistory(first));
  const [goTo, setGoTo] = useState<{ readonly rowId: string }>();
  const { unitLimitMl } = useThisWard().settings;
  const [typed, setTyped] = useState(() => typedOf(first.protocol, { volumeMl: 400, limitMl: unitLimitMl }));
  const [kept, setKept] = useState(true);
  const draft = history.now;
  const { protocol } = draft;
  const proof = useProof(protocol);
  const tried = useMemo(() => tryPatient(protocol, typed), [protocol, typed]);

  /** Every change is kept at once, so that a page that is closed loses nothing. */
  const go = (next: DraftHistory): void => {
    if (next === history) return;
    setHistory(next);
    setKept(keepDraft(author, next.now));
  };
  useEffect(() => {
    const onKey = (event: KeyboardEvent): void => {
      if (!(event.ctrlKey || event.metaKey) || document.querySelector('dialog[open]')) return;
      // In a box to write in, undo is the box's own.
      if (event.target instanceof HTMLInputElement || event.target instanceof HTMLTextAreaElement) return;
      const key = event.key.toLowerCase();
      if (key !== 'z' && key !== 'y') return;
      event.preventDefault();
      go((key === 'y' || event.shiftKey ? redo : undo)(history));
    };
    addEventListener('keydown', onKey);
    return () => removeEventListener('keydown', onKey);
  });

  const change = (make: (draft: Draft) => Draft): void => go(step(history, make(draft)));
  const add = (decision: string, below?: string, fault?: Fault): void => {
    const made = addRow(draft, decision, below, fault ? cellsOfFault(fault) : {});
    go(step(history, made.draft));
    setGoTo({ rowId: made.rowId });
  };
  const tryThis = (patient: Partial<ProtocolInput>): void => {
    setTyped(typedOf(protocol, patient));
    document.querySelector('[data-try]')?.scrollIntoView({ block: 'start' });
  };
  const going = (rowId: string): void => setGoTo({ rowId });

  const result = proof.state === 'proved' ? proof.proof : proof.last;
  const faults = useDeferredValue(result === undefined || isRefusal(result) ? [] : result.faults);
  const faulty = useMemo(() => new Set(faults.flatMap((fault) => fault.rows)), [faults]);
  const marked = useMemo(() => new Set(tried.rows), [tried]);

  return (
    <div className={styles['page']}>
      <Plate
        first
        title={`Draft: ${protocol.title}`}
        note={`made from version ${draft.basedOn.version}; the record gives the next number`}
      >
        <Notice mark="not-known">
          <strong>Draft. Example protocol, not approved.</strong> Nobody is advised by it. Local protocol,
          scope of practice and prescriber orders come first.
        </Notice>
        <p className={styles['help']}>
          Tap a cell to change it, or a row’s name to move, add or delete. By keys: arrows, Enter, Escape; Alt
          with an arrow moves a row.
        </p>
      </Plate>
      <section className={styles['bar']} aria-label="Undo and proof">
        <Key onClick={() => go(undo(history))} disabled={history.past.length === 0}>
          Undo
        </Key>
        <Key onClick={() => go(redo(history))} disabled={history.future.length === 0}>
          Redo
        </Key>
        <ProofLine
          proof={proof}
          onGoTo={(decision) => document.getElementById(`table-${decision}`)?.scrollIntoView()}
        />
        <span className="label" data-kept>
          {kept ? 'Kept on this tablet' : 'Not kept: this tablet is full. Leave this page open.'}
        </span>
      </section>
      {protocol.tables.map((table) => (
        <div key={table.decision} id={`table-${table.decision}`} className={styles['table']}>
          <Plate title={tableTitle(table.decision)} note={`${table.rows.length} rows`}>
            <FaultList
              draft={draft}
              faults={faults.filter((fault) => fault.decision === table.decision)}
              onAddRow={(fault) => add(table.decision, undefined, fault)}
              onGoTo={going}
              onTry={tryThis}
            />
            <Grid
              protocol={protocol}
              table={table}
              marked={marked}
              faulty={faulty}
              goTo={goTo}
              acts={{
                onTest: (rowId, column, test) =>
                  change((one) => setTest(one, table.decision, rowId, column, test)),
                onValue: (rowId, column, value) =>
                  change((one) => setValue(one, table.decision, rowId, column, value)),
                onAdd: (below) => add(table.decision, below),
                onDelete: (rowId) => change((one) => deleteRow(one, table.decision, rowId)),
                onMove: (rowId, by) => change((one) => moveRow(one, table.decision, rowId, by)),
              }}
            />
            <Key onClick={() => add(table.decision)}>Add a row at the end</Key>
          </Plate>
        </div>
      ))}
      <div data-try>
        <Plate title="Try a patient" note="What this draft would answer">
          <TryPatient protocol={protocol} typed={typed} tried={tried} onChange={setTyped} onGoTo={going} />
        </Plate>
      </div>
      <MapOfSteps protocol={protocol} typed={typed} onTry={tryThis} />
      <Plate title="Try it on the past" note="Finished watches of this ward, and made-up wards">
        <KeyLink href={addressOf('protocol', 'draft', draft.id, 'replay')}>Try it on the past</KeyLink>
      </Plate>
      <Plate title="Changes" note={`against version ${draft.basedOn.version}`}>
        <Changes draft={draft} onGoTo={going} />
      </Plate>
      <DraftFileKeys draft={draft} onOpen={(opened) => go(step(history, opened))} />
      <Send draft={draft} author={author} proof={proof} />
      <KeyLink href={addressOf('protocol')} look="plain">
        All protocols
      </KeyLink>
    </div>
  );
}
