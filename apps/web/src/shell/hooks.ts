/**
 * How a page reads the replica. Each hook draws again only when what it returns has changed.
 */
import { createContext, use, useCallback, useContext, useMemo, useSyncExternalStore } from 'react';
import type { Directory, Entry, Person, Ward } from '@ebbline/core/record';
import type { PatientFacts, WardFacts } from '@ebbline/core/facts';
import type { ProtocolVersion } from '@ebbline/protocol';
import { aheadOf, tellingWhenAhead } from './folded-record.ts';
import type { NetworkState, Replica } from './replica.ts';
import { nowMs } from './clock.ts';
import { ticker } from './ticker.ts';

export const ReplicaContext = createContext<Replica | undefined>(undefined);

export function useReplica(): Replica {
  const replica = useContext(ReplicaContext);
  if (!replica) throw new Error('useReplica stands outside the signed-in part of the page');
  return replica;
}

/** Facts of one patient. */
export function useFacts(patient: string): PatientFacts {
  const replica = useReplica();
  return useSyncExternalStore(replica.subscribe, () => replica.factsOf(patient));
}

/**
 * Facts of a ward, its patients in the order in which somebody has to act. At the first look the page waits (in its
 * `Suspense`) while many patients are folded; later, when many change at once, what was said last stands until then.
 *
 * @param prepare what the page makes of each patient's facts, done piece by piece ahead of drawing; kept from draw to draw
 */
export function useWard(wardId: string, prepare?: (facts: PatientFacts) => void): WardFacts {
  const replica = useReplica();
  const ahead = useCallback(() => aheadOf(replica.ward)?.(wardId, prepare), [replica, wardId, prepare]);
  const subscribe = useMemo(() => tellingWhenAhead(replica.subscribe, ahead), [replica, ahead]);
  const first = ahead();
  if (first && !first.meanwhile) use(first.ready);
  return useSyncExternalStore(subscribe, () => ahead()?.meanwhile ?? replica.ward(wardId));
}

/** Every entry kept here; the same list until one comes or goes. */
export function useEntries(): readonly Entry[] {
  const replica = useReplica();
  return useSyncExternalStore(replica.subscribe, () => replica.entries());
}

export function useDirectory(): Directory {
  const replica = useReplica();
  return useSyncExternalStore(replica.subscribe, () => replica.directory());
}

export function useNetwork(): NetworkState {
  const replica = useReplica();
  return useSyncExternalStore(replica.subscribe, () => replica.network());
}

/** Versions of the ward's protocols, as this tablet last read them. */
export function useProtocols(): readonly ProtocolVersion[] {
  const replica = useReplica();
  return useSyncExternalStore(replica.subscribe, () => replica.protocols());
}

/** Now, ms since the epoch; moves on each ten seconds. */
export function useNow(): number {
  return useSyncExternalStore(ticker.subscribe, ticker.now);
}

/** Moves each second; for what says its own age. */
export function useSecond(): number {
  return useSyncExternalStore(ticker.subscribeEachSecond, () => Math.floor(nowMs() / 1000));
}

export function useMe(): Person {
  return useReplica().me;
}

export const WardContext = createContext<Ward | undefined>(undefined);

/** The ward whose board this tablet shows. */
export function useThisWard(): Ward {
  const ward = useContext(WardContext);
  if (!ward) throw new Error('useThisWard stands outside the signed-in part of the page');
  return ward;
}
