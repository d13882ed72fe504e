import { clockTime } from '@ebbline/core/quantity';
import type { NetworkState } from './replica.ts';

const entries = (count: number): string => (count === 1 ? '1 entry' : `${count} entries`);

/** At the door: how many wait, and that nothing has to be done about it. */
export const waitingWords = (count: number): string =>
  `${entries(count)} wait${count === 1 ? 's' : ''} for the network; ${count === 1 ? 'it is' : 'they are'} safe on this tablet.`;

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
      strong: `${entries(network.waiting)} on the way`,
      rest: ` to the ward's record, also of ${who}.`,
    };
  }
  if (network.waiting > 0)
    return { strong: `${entries(network.waiting)} on the way`, rest: " to the ward's record." };
  return undefined;
}
