import type { Directory, Person, Ward } from '@ebbline/core/record';

const keyOf = (person: string): string => `ebbline.ward.${person}`;

/** The ward whose board is shown: the one last chosen by this person here, else their first. */
export function wardFor(me: Person, directory: Directory): Ward | undefined {
  let chosen: string | null = null;
  try {
    chosen = localStorage.getItem(keyOf(me.id));
  } catch {
    chosen = null;
  }
  const mine = wardsOf(me, directory);
  return mine.find((ward) => ward.id === chosen) ?? mine[0];
}

/** Wards that this person may open; a person without wards of their own works across all. */
export function wardsOf(me: Person, directory: Directory): readonly Ward[] {
  const mine = directory.wards.filter((ward) => me.wards.includes(ward.id));
  return mine.length > 0 ? mine : directory.wards;
}

export function chooseWard(me: Person, ward: string): void {
  try {
    localStorage.setItem(keyOf(me.id), ward);
  } catch {
    // Holds until the page is closed.
  }
}
