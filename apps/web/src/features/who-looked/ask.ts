/** What this page asks of the ward's record. */
import { askRecord, type Answer } from '../../shell/remote.ts';

export interface FoundPatient {
  readonly id: string;
  readonly familyName: string;
  readonly givenName: string;
  readonly identifier: string;
  readonly ward: string;
  readonly bed: string;
}

export interface LookLine {
  readonly cursor: string;
  readonly happenedAt: string;
  readonly receivedAt: string;
  readonly person: { readonly id: string; readonly name: string; readonly role: string };
  readonly kind: 'looked' | 'recorded' | 'corrected' | 'taken-out' | 'other';
  readonly what: string;
  readonly tablet?: string;
  readonly ward?: string;
  readonly patient?: { readonly id: string; readonly label: string };
  readonly unusual: readonly { readonly mark: string; readonly words: string }[];
}

/** About whom: a patient, or a person of the unit. */
export type Asked = { readonly patient: string } | { readonly person: string };

const query = (asked: Asked, from: string | undefined, before?: string): string =>
  new URLSearchParams({
    ...asked,
    ...(from === undefined ? {} : { from }),
    ...(before === undefined ? {} : { before }),
  }).toString();

export const findPatients = (
  words: string,
): Promise<Answer<{ readonly patients: readonly FoundPatient[] }>> =>
  askRecord(`/api/audit/patients?${new URLSearchParams({ find: words })}`);

export const looksOf = (
  asked: Asked,
  from: string | undefined,
  before?: string,
): Promise<Answer<{ readonly lines: readonly LookLine[]; readonly next?: string }>> =>
  askRecord(`/api/audit/looks?${query(asked, from, before)}`);

export const tableAddress = (asked: Asked, from: string | undefined): string =>
  `/api/audit/looks.csv?${query(asked, from)}`;
