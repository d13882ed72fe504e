import { lazy, type ComponentType } from 'react';
import type { View } from '@ebbline/core/record';
import type { PageProps } from './page.ts';

/** Every page that was built, by the name of its folder. Each is loaded when it is first opened. */
const found = import.meta.glob<{ readonly default: ComponentType<PageProps> }>('../features/*/page.tsx');

export const pages: ReadonlyMap<string, ComponentType<PageProps>> = new Map(
  Object.entries(found).map(([file, load]) => [file.split('/').at(-2) ?? '', lazy(load)]),
);

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
  { name: 'wall', label: 'Wall', view: 'board' },
];

/** Pages that are opened from one patient, or to begin with one; they do not stand in the head. */
const pagesOfOnePatient: Readonly<Record<string, View>> = {
  patient: 'patient',
  entry: 'patient',
  images: 'images',
  'new-patient': 'patient',
};

/** What a page needs a person to be allowed to see. A page that stands on its own needs nothing. */
export const viewOf = (name: string): View | undefined =>
  places.find((place) => place.name === name)?.view ?? pagesOfOnePatient[name];
