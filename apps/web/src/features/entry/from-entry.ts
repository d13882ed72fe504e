/** An entry put back into its form, to be corrected. The old one stays visible; the new one takes its place. */
import { instantMs } from '@ebbline/core/quantity';
import type { Entry } from '@ebbline/core/record';
import { emptyDraft, type Draft } from './draft.ts';
import { forms, type FormSpec } from '@ebbline/core/present';

const formForEntry = (entry: Entry): FormSpec | undefined =>
  entry.kind === 'context'
    ? entry.payload.topic === 'limit-ml' || entry.payload.topic === 'own-capacity-ml'
      ? forms.find((form) => form.id === 'limit')
      : undefined
    : forms.find((form) => form.kind === entry.kind);

/** Kinds that can be put right by writing them anew; others are withdrawn. */
export function canBePutRight(entry: Entry): boolean {
  return formForEntry(entry) !== undefined && !['step-answered', 'call-answered'].includes(entry.kind);
}

export function draftFromEntry(entry: Entry): { readonly spec: FormSpec; readonly draft: Draft } | undefined {
  const spec = formForEntry(entry);
  if (!spec) return undefined;
  const payload = entry.payload as Readonly<Record<string, unknown>>;
  const values: Record<string, string> = {};
  const chosen: Record<string, readonly string[]> = {};
  for (const field of spec.fields) {
    const value = payload[field.name];
    if (value === undefined) continue;
    if (field.type === 'many') chosen[field.name] = value as readonly string[];
    else if (field.type === 'yes-no') values[field.name] = value === true ? 'yes' : 'no';
    else if (field.type === 'moment') values[field.name] = String(instantMs(value as string));
    else values[field.name] = String(value as string | number);
  }
  if (entry.kind === 'reading') {
    if (entry.payload.result === 'at-least') values['atLeast'] = 'yes';
    if (entry.payload.result === 'not-obtained') values['notObtained'] = 'yes';
    if (entry.payload.scanner !== undefined) values['scanner'] = entry.payload.scanner;
  }
  if (entry.kind === 'void' && entry.payload.padG !== undefined)
    values['volumeMl'] = String(entry.payload.padG);
  const repeats = entry.kind === 'reading' ? (entry.payload.repeatsMl ?? []).slice(0, -1).map(String) : [];
  return {
    spec,
    draft: {
      ...emptyDraft(spec.id, entry.patient),
      values,
      chosen,
      repeats,
      atMs: instantMs(entry.effectiveAt),
      ...(entry.timeQuality === 'exact' ? {} : { timeQuality: entry.timeQuality }),
      corrects: entry.id,
    },
  };
}
