/**
 * What a form is, as data: which kind of entry it writes, what it asks, and what stands on the keys. One view draws them
 * all; the reading, the void and the drain add their number pad.
 */
import type { PatientFacts } from '../facts/index.ts';
import type { EntryKind } from '../record/index.ts';
import type { Options } from './form-words.ts';

export type Field =
  | {
      readonly type: 'choice';
      readonly name: string;
      readonly label: string;
      readonly options: Options;
      readonly needed?: boolean;
      readonly later?: boolean;
      readonly onlyIf?: readonly [name: string, value: string];
    }
  | {
      readonly type: 'yes-no';
      readonly name: string;
      readonly label: string;
      readonly yes: string;
      readonly no: string;
      readonly needed?: boolean;
      readonly later?: boolean;
      readonly onlyIf?: readonly [string, string];
    }
  | {
      readonly type: 'many';
      readonly name: string;
      readonly label: string;
      readonly options: Options;
      readonly shown: number;
      readonly later?: boolean;
      readonly needed?: false;
      readonly onlyIf?: readonly [string, string];
    }
  | {
      readonly type: 'number';
      readonly name: string;
      readonly label: string;
      readonly unit: string;
      readonly needed?: boolean;
      readonly later?: boolean;
      readonly onlyIf?: readonly [string, string];
    }
  | {
      readonly type: 'text';
      readonly name: string;
      readonly label: string;
      readonly longest: number;
      readonly offers?: readonly string[];
      readonly needed?: boolean;
      readonly later?: boolean;
      readonly onlyIf?: readonly [string, string];
    }
  | {
      readonly type: 'moment';
      readonly name: string;
      readonly label: string;
      /** Minutes from now; negative lies in the past. */
      readonly offersMin: readonly number[];
      readonly needed?: boolean;
      readonly later?: boolean;
      readonly onlyIf?: readonly [string, string];
    };

export interface FormSpec {
  readonly id: string;
  readonly kind: EntryKind;
  readonly title: string;
  /** What the main key says when nothing more can be said. */
  readonly save: string;
  readonly fields: readonly Field[];
  /** The number field that the pad types into first. */
  readonly pad?: string;
  /** Values remembered from one entry to the next on this tablet. */
  readonly remembers?: readonly string[];
  /** Whether it can be recorded now; a sentence when not. */
  readonly notNow?: (facts: PatientFacts) => string | undefined;
}

/** The free words that every form may end with. */
export const note: Field = {
  type: 'text',
  name: 'note',
  label: 'Anything to add',
  longest: 600,
  later: true,
};
