import { useSyncExternalStore } from 'react';
import { useReplica } from '../../shell/hooks.ts';

/** Whether this tablet keeps a patient's record: not before the first entries have come, so "waiting" is an answer too. */
export function useKept(patient: string | undefined): 'kept' | 'waiting' | 'not-here' {
  const replica = useReplica();
  return useSyncExternalStore(replica.subscribe, () => {
    if (patient !== undefined && replica.patients().includes(patient)) return 'kept';
    return patient !== undefined && replica.patients().length === 0 ? 'waiting' : 'not-here';
  });
}
