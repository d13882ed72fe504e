import { clockTime } from '@ebbline/core/quantity';
import type { NetworkState } from './replica.ts';

const entries = (count: number): string => (count === 1 ? '1 entry' : `${count} entries`);

/** The small line under the head; nothing when the record is reached and nothing waits. */
export function networkWords(
  network: NetworkState,
  zone: string,
  initialsOf: (person: string) => string,
): { readonly strong: string; readonly rest: string } | undefined {
  if (network.awaySinceMs !== undefined) {
    const wait =
      network.waiting === 0
        ? 'Nothing waits to be sent.'
        : `${entries(network.waiting)} wait${network.waiting === 1 ? 's' : ''} on this tablet and will be sent once, by ${network.waiting === 1 ? 'itself' : 'themselves'}.`;
    return {
      strong: 'Working without the network',
      rest: ` since ${clockTime(network.awaySinceMs, zone)}. ${wait}`,
    };
  }
  if (network.waitingFor.length > 0) {
    const who = network.waitingFor.map(initialsOf).join(', ');
    return {
      strong: `Entries of ${who} wait on this tablet`,
      rest: ` (${network.waiting} in all). They are sent when ${who} enter${network.waitingFor.length === 1 ? 's' : ''} a PIN here.`,
    };
  }
  if (network.waiting > 0)
    return { strong: `${entries(network.waiting)} on the way`, rest: " to the ward's record." };
  return undefined;
}
