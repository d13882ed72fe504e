/** Short words of a draft: under Save, and after it. */
import { formWords as words, whole, type FormSpec, type TimelineRow } from '@ebbline/core/present';
import { isAtLeast, type Draft } from './draft.ts';
import { voidHow } from './to-entries.ts';

const lower = (text: string): string => text.charAt(0).toLowerCase() + text.slice(1);
const number = (draft: Draft): string | undefined => {
  const typed = draft.values['volumeMl'];
  return typed === undefined || typed === '' ? undefined : /^\d+$/.test(typed) ? whole(Number(typed)) : typed;
};

/** What Save will keep, in a few words; or what is still to be said first. */
export function saveRest(spec: FormSpec, draft: Draft): string {
  const figure = number(draft);
  if (spec.id === 'reading') {
    const relation = draft.values['relation'] as keyof typeof words.relationWords | undefined;
    const none = draft.values['notObtained'] === 'yes';
    if (figure === undefined && !none) return 'enter the number';
    if (relation === undefined) return 'first: before or after a void?';
    const what = none ? 'no reading' : `${isAtLeast(draft) ? 'at least ' : ''}${figure ?? ''} mL`;
    return `${what}, ${lower(words.relationWords[relation])}`;
  }
  if (spec.id === 'void') {
    const how = voidHow(draft) as keyof typeof words.voidWords;
    if (how === 'measured') return figure === undefined ? 'enter the number' : `passed ${figure} mL`;
    if (how === 'pad-weighed') return figure === undefined ? 'enter the weight' : `pad, ${figure} g`;
    return `passed, ${lower(words.voidWords[how])}${how === 'mixed' && figure !== undefined ? `, ${figure} mL` : ''}`;
  }
  if (spec.id === 'drained') {
    const route = draft.values['route'] as keyof typeof words.routeWords | undefined;
    return route === undefined
      ? 'first: how was it drained?'
      : `${figure === undefined ? 'not measured' : `${figure} mL`}, ${lower(words.routeWords[route])}`;
  }
  return '';
}

/** What was saved, without a full stop; `row` is the row of the record for what has no number in front. */
export function savedWords(spec: FormSpec, draft: Draft, row?: TimelineRow): string {
  const rest = saveRest(spec, draft);
  if (rest !== '') return spec.id === 'void' ? rest : `${lower(spec.title)}, ${rest}`;
  if (row === undefined) return lower(spec.title);
  const volume = row.volume === '' ? '' : ` ${row.volume} mL`;
  const remark = row.remark === '' ? '' : `. ${row.remark}`;
  return `${lower(row.what)}${volume}${remark}`.replace(/\.$/, '');
}
