/**
 * Addresses behind the hash: `#/patient/p-4` is the page `patient` with the path `['p-4']`. The whole of what a
 * router does here; going back and forth is the browser's.
 */
import { useSyncExternalStore } from 'react';

export interface Address {
  readonly page: string;
  readonly path: readonly string[];
}

const home = 'board';

const decoded = (part: string): string => {
  try {
    return decodeURIComponent(part);
  } catch {
    return part;
  }
};

export function readAddress(hash: string): Address {
  const [page = '', ...path] =
    hash
      .replace(/^#?\/?/, '')
      .split('?')[0]
      ?.split('/')
      .map(decoded) ?? [];
  return { page: page === '' ? home : page, path: path.filter((part) => part !== '') };
}

/** `addressOf('patient', 'p-4')` → `#/patient/p-4`. */
export function addressOf(page: string, ...path: readonly string[]): string {
  return `#/${[page, ...path].map(encodeURIComponent).join('/')}`;
}

export function goTo(page: string, ...path: readonly string[]): void {
  location.hash = addressOf(page, ...path);
}

const subscribe = (listener: () => void): (() => void) => {
  addEventListener('hashchange', listener);
  return () => removeEventListener('hashchange', listener);
};

let last: { hash: string; address: Address } | undefined;

const current = (): Address => {
  if (last?.hash !== location.hash) last = { hash: location.hash, address: readAddress(location.hash) };
  return last.address;
};

export function useAddress(): Address {
  return useSyncExternalStore(subscribe, current);
}
