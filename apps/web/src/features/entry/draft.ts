/**
 * What a person has put into a form so far. Plain data, so that it can be kept when the screen is left or locked
 * and be put back as it was. Nothing that a person did not say stands in it: no volume, and never whether a
 * reading was before or after a void.
 */
import { isRefusal, type Refusal } from '@ebbline/core/quantity';
import type { Doubt } from '@ebbline/core/record';
import { controlIsOn } from '@ebbline/core/quantity';
import { formWords } from '@ebbline/core/present';
import { numberTyped, press, type PadKey } from './keypad.ts';

export interface Draft {
  readonly form: string;
  readonly patient: string;
  /** One value a field; a field that is not here was not answered. Numbers stand as typed. */
  readonly values: Readonly<Record<string, string>>;
  /** Fields of which several can be chosen. */
  readonly chosen: Readonly<Record<string, readonly string[]>>;
  /** Readings of this look that came before the one in the window, as typed. */
  readonly repeats: readonly string[];
  /** When it happened, if it was not now, ms. */
  readonly atMs?: number;
  readonly timeQuality?: 'rounded' | 'unknown';
  /** Set when this draft takes the place of an entry. */
  readonly corrects?: string;
}

/** What a form may start with: the tool that was used last. Never a volume or an answer about the patient, whoever offers it. */
const mayBeRemembered = new Set(['scanner', 'sizeCh']);

/** A form before anything was said. The estimate is never put into its window: a guess that is charted becomes a reading. */
export function emptyDraft(
  form: string,
  patient: string,
  remembered: Readonly<Record<string, string>> = {},
): Draft {
  const kept = Object.entries(remembered).filter(
    ([name]) => mayBeRemembered.has(name) || !controlIsOn('H8-estimate-never-charted'),
  );
  return { form, patient, values: Object.fromEntries(kept), chosen: {}, repeats: [] };
}

export const isEmpty = (draft: Draft, remembered: Readonly<Record<string, string>> = {}): boolean =>
  draft.atMs === undefined &&
  draft.repeats.length === 0 &&
  Object.values(draft.chosen).every((list) => list.length === 0) &&
  Object.entries(draft.values).every(([name, value]) => value === '' || remembered[name] === value);

/** Sets a field; choosing the same value again takes the answer back. */
export function choose(draft: Draft, name: string, value: string): Draft {
  if (draft.values[name] === value) return without(draft, name);
  return { ...draft, values: { ...draft.values, [name]: value } };
}

export function write(draft: Draft, name: string, value: string): Draft {
  return value === '' ? without(draft, name) : { ...draft, values: { ...draft.values, [name]: value } };
}

export function without(draft: Draft, name: string): Draft {
  const values = { ...draft.values };
  delete values[name];
  return { ...draft, values };
}

export function pressKey(draft: Draft, name: string, key: PadKey): Draft {
  return write(draft, name, press(draft.values[name] ?? '', key));
}

export function toggle(draft: Draft, name: string, value: string): Draft {
  const before = draft.chosen[name] ?? [];
  const after = before.includes(value) ? before.filter((one) => one !== value) : [...before, value];
  return { ...draft, chosen: { ...draft.chosen, [name]: after } };
}

export const doubtsOf = (draft: Draft): readonly Doubt[] =>
  (draft.chosen['doubts'] ?? []) as readonly Doubt[];

/**
 * "At least" is said in two ways: by its key, or by a doubt that shows only part of the bladder. The doubt wins:
 * such a figure can't be charted as exact. Hazard: a low bound that is read as the content.
 */
export function isAtLeast(draft: Draft): boolean {
  if (draft.values['atLeast'] === 'yes') return true;
  return (
    controlIsOn('H2-doubt-before-number') &&
    doubtsOf(draft).some((doubt) => formWords.doubtsThatBoundBelow.includes(doubt))
  );
}

/** The window is put aside as one reading of this look, and is empty for the next. */
export function keepRepeat(draft: Draft): Draft | Refusal {
  const typed = draft.values['volumeMl'] ?? '';
  const read = numberTyped(typed, 'Reading', 'mL');
  if (isRefusal(read)) return read;
  if (read === undefined) return draft;
  return without({ ...draft, repeats: [...draft.repeats, typed] }, 'volumeMl');
}
