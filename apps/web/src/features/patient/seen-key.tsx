/** An overdue item that has climbed: a person says that they have seen it, which stops the unit's notice. The item stays due. */
import { useState, type ReactNode } from 'react';
import { isRefusal, type Refusal } from '@ebbline/core/quantity';
import { personWords } from '@ebbline/core/present';
import { mayWrite, type Directory, type Role } from '@ebbline/core/record';
import type { DueItem } from '@ebbline/core/facts';
import { Key } from '../../shared/key.tsx';
import { RefusalNotice } from '../../shared/plate.tsx';
import { useReplica } from '../../shell/hooks.ts';

export function SeenKey({
  item,
  patient,
  role,
  directory,
}: {
  readonly item: DueItem;
  readonly patient: string;
  readonly role: Role;
  readonly directory: Directory;
}): ReactNode {
  const replica = useReplica();
  const [refusal, setRefusal] = useState<Refusal | undefined>();
  if (!item.overdue) return null;
  if (item.acknowledgedBy !== undefined)
    return <p>{personWords(item.acknowledgedBy, directory)} has seen it. It stays due until it is done.</p>;
  if (!mayWrite(role, 'overdue-acknowledged')) return null;
  const see = async (): Promise<void> => {
    const kept = await replica.record([
      { patient, kind: 'overdue-acknowledged', payload: { item: item.key } },
    ]);
    setRefusal(isRefusal(kept) ? kept : undefined);
  };
  return (
    <>
      <Key onClick={() => void see()}>I have seen that this is overdue</Key>
      {refusal ? <RefusalNotice refusal={refusal} /> : null}
    </>
  );
}
