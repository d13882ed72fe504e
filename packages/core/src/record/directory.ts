import type { Role } from './words.ts';
import type { UnitSettings } from './unit-settings.ts';

/** People, wards and scanners that entries name. Reference data, not record: the server keeps it, tablets copy it. */
export interface Person {
  readonly id: string;
  readonly name: string;
  readonly initials: string;
  readonly role: Role;
  readonly wards: readonly string[];
}

export interface Ward {
  readonly id: string;
  readonly name: string;
  /** What it is for, in a few words. */
  readonly purpose: string;
  readonly hospital: string;
  readonly zone: string;
  readonly beds: readonly string[];
  readonly settings: UnitSettings;
  /** Local times at which shifts change, `HH:MM`. */
  readonly shiftChanges: readonly string[];
}

export interface Scanner {
  readonly id: string;
  readonly name: string;
  readonly ward: string;
}

export interface Directory {
  readonly organisation: string;
  readonly wards: readonly Ward[];
  readonly people: readonly Person[];
  readonly scanners: readonly Scanner[];
}
