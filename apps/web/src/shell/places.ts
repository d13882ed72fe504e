import { lazy, type ComponentType, type LazyExoticComponent } from 'react';
import type { View } from '@ebbline/core/record';
import type { PageProps } from './page.ts';

/** Every page that was built, by the name of its folder. Each is loaded when it is first opened. */
const found = import.meta.glob<{ readonly default: ComponentType<PageProps> }>('../features/*/page.tsx');

const loaders = new Map(Object.entries(found).map(([file, load]) => [file.split('/').at(-2) ?? '', load]));

export const pageNames: ReadonlySet<string> = new Set(loaders.keys());

/** Its files are not on this tablet and could not be fetched. */
export class PageNotHere extends Error {}

const opened = new Map<string, LazyExoticComponent<ComponentType<PageProps>>>();
const missing = new Set<string>();

/** Pages that could not be loaded are asked for anew when they are opened next. */
export function askAgain(): void {
  for (const name of missing) opened.delete(name);
  missing.clear();
}
// Before the page of the new address is drawn: this listener is older than any of React's.
// Drawn outside a browser there are no addresses.
if ('addEventListener' in globalThis) addEventListener('hashchange', askAgain);

/** The page of that name; the same component until `askAgain`, so that a failure stays one failure. */
export function pageOf(name: string): ComponentType<PageProps> | undefined {
  const load = loaders.get(name);
  if (!load) return undefined;
  const known = opened.get(name);
  if (known) return known;
  const page = lazy(() =>
    load().catch((cause: unknown) => {
      missing.add(name);
      throw new PageNotHere(`The page ${name} could not be loaded.`, { cause });
    }),
  );
  opened.set(name, page);
  return page;
}

/** Brings every page to this tablet while there is a network, so that none is missing when it is gone. */
export async function fetchAllPages(): Promise<void> {
  for (const load of loaders.values()) await load().catch(() => undefined);
}

export interface Place {
  readonly name: string;
  readonly label: string;
  readonly view: View;
}

/** What stands in the head, in this order. */
export const places: readonly Place[] = [
  { name: 'board', label: 'Board', view: 'board' },
  { name: 'handover', label: 'Handover', view: 'handover' },
  { name: 'unit', label: 'Unit', view: 'unit' },
  { name: 'protocol', label: 'Protocol', view: 'protocol' },
  { name: 'practice', label: 'Practice', view: 'practice' },
  { name: 'wall', label: 'Wall', view: 'board' },
  { name: 'who-looked', label: 'Who looked', view: 'audit' },
];

/** Pages that are opened from one patient, to begin with one, or after a while away; they do not stand in the head. */
const pagesOfOnePatient: Readonly<Record<string, View>> = {
  patient: 'patient',
  entry: 'patient',
  images: 'images',
  'new-patient': 'patient',
  'other-ward': 'patient',
  meanwhile: 'board',
};

/** The patient whom an address is about, when its page shows one. */
export const patientOf = (page: string, path: readonly string[]): string | undefined =>
  page in pagesOfOnePatient ? path[0] : undefined;

/** What a page needs a person to be allowed to see. A page that stands on its own needs nothing. */
export const viewOf = (name: string): View | undefined =>
  places.find((place) => place.name === name)?.view ?? pagesOfOnePatient[name];
