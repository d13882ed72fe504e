/** Sends a proved draft to the ward's record, which proves it again and keeps it for a second person to sign. */
import { useState, type ReactNode } from 'react';
import { isRefusal, refuse, type Refusal } from '@ebbline/core/quantity';
import { modelOf, writeDmn } from '@ebbline/protocol';
import { Key } from '../../shared/key.tsx';
import { Plate, RefusalNotice } from '../../shared/plate.tsx';
import { goTo } from '../../shell/address.ts';
import { useMe, useReplica, useThisWard } from '../../shell/hooks.ts';
import { forgetDraft } from './draft-store.ts';
import type { Draft } from './draft.ts';
import { publishWords } from './proof-line.tsx';
import type { ProofState } from './use-proof.ts';
import styles from './editor.module.css';

const isProved = (proof: ProofState): boolean =>
  proof.state === 'proved' && !isRefusal(proof.proof) && proof.proof.whole && proof.proof.faults.length === 0;

const notWritten = (): Refusal =>
  refuse('web/not-written', {
    asked: 'Draft',
    found: 'no way to write it as a file on this tablet now',
    allowed: 'a draft written as DMN',
    todo: 'Connect to the network, open this page again and send it then. The draft is kept.',
  });

export function Send({
  draft,
  author,
  proof,
}: {
  readonly draft: Draft;
  readonly author: string;
  readonly proof: ProofState;
}): ReactNode {
  const replica = useReplica();
  const ward = useThisWard();
  const me = useMe();
  const [busy, setBusy] = useState(false);
  const [refusal, setRefusal] = useState<Refusal>();
  const here = me.wards.includes(ward.id);
  const send = async (): Promise<void> => {
    setBusy(true);
    const dmn = await writeDmn(modelOf(draft.protocol)).catch(notWritten);
    const refused = isRefusal(dmn)
      ? dmn
      : await replica.askOfProtocols({ ask: 'send', ward: ward.id, dmn: dmn as string });
    setBusy(false);
    setRefusal(refused);
    if (refused) return;
    forgetDraft(author, draft.id);
    goTo('protocol');
  };
  return (
    <Plate title="Publish" note={`for ${ward.name}`}>
      <p className="speak" data-publish>
        {publishWords(proof)}
      </p>
      {here ? (
        <div className={styles['keys']}>
          <Key look="main" disabled={busy || !isProved(proof)} onClick={() => void send()}>
            {busy ? 'Sending…' : 'Send for signing'}
          </Key>
        </div>
      ) : (
        <p>It can be sent by people of {ward.name}.</p>
      )}
      {refusal ? <RefusalNotice refusal={refusal} /> : null}
    </Plate>
  );
}
