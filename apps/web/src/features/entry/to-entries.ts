/**
 * From a draft to what is recorded for it. The record's own rules are the replica's to apply, on the whole entry.
 *
 * In       the draft, the patient's facts, who writes, now
 * Out      what the replica records, or a refusal that says what was found, what is allowed and what to do
 * Errors   `entry/not-answered` when a needed question is open; `entry/no-reading`; `entry/number-with-unmeasured`
 */
import type { PatientFacts } from '@ebbline/core/facts';
import { caliperVolume, coefficientById } from '@ebbline/core/geometry';
import { instantInZone, isRefusal, minuteMs, refuse, type Refusal } from '@ebbline/core/quantity';
import { formOf, formWords, type Field, type FormSpec } from '@ebbline/core/present';
import type { EntryKind } from '@ebbline/core/record';
import type { Draft as Recorded } from '../../shell/replica.ts';
import { doubtsOf, isAtLeast, type Draft } from './draft.ts';
import { numberTyped } from './keypad.ts';

export interface Writer {
  readonly author: string;
  readonly nowMs: number;
  readonly zone: string;
}

type Payload = Record<string, unknown>;

/** A field is asked when what it hangs on was answered so. */
export const isAsked = (field: Field, draft: Draft): boolean =>
  field.onlyIf === undefined || draft.values[field.onlyIf[0]] === field.onlyIf[1];

const unanswered = (field: Field): Refusal =>
  refuse('entry/not-answered', {
    asked: field.label,
    found: 'no answer',
    allowed:
      field.type === 'choice'
        ? field.options.map(([, label]) => label.toLowerCase()).join(', ')
        : field.type === 'number'
          ? `a whole number in ${field.unit}`
          : 'an answer',
    todo:
      field.type === 'number'
        ? 'Enter the number.'
        : field.type === 'text'
          ? 'Write it in a few words.'
          : field.type === 'moment'
            ? 'Choose a time.'
            : 'Touch one of the keys.',
    where: field.name,
  });

/** Values of the form's own fields, each in the type that the record wants. */
function plainPayload(spec: FormSpec, draft: Draft, zone: string): Payload | Refusal {
  const payload: Payload = {};
  for (const field of spec.fields) {
    if (!isAsked(field, draft)) continue;
    const value = draft.values[field.name];
    if (field.type === 'many') {
      payload[field.name] = draft.chosen[field.name] ?? [];
      continue;
    }
    if (value === undefined || value.trim() === '') {
      if (field.needed) return unanswered(field);
      continue;
    }
    if (field.type === 'number') {
      const read = numberTyped(value, field.label, field.unit);
      if (isRefusal(read)) return { ...read, where: field.name };
      payload[field.name] = read;
    } else if (field.type === 'yes-no') payload[field.name] = value === 'yes';
    else if (field.type === 'moment') payload[field.name] = instantInZone(Number(value), zone);
    else
      payload[field.name] = ['sizeCh', 'severity', 'overMin'].includes(field.name)
        ? Number(value)
        : value.trim();
  }
  return payload;
}

/** The last void before an instant, with the minutes since. */
export function lastVoidBefore(
  facts: PatientFacts,
  atMs: number,
): { readonly atMs: number; readonly sinceMin: number; readonly volumeMl?: number } | undefined {
  const last = facts.voids.filter((one) => one.atMs <= atMs).at(-1);
  if (!last) return undefined;
  return {
    atMs: last.atMs,
    sinceMin: Math.round((atMs - last.atMs) / minuteMs),
    ...(last.volumeMl === undefined ? {} : { volumeMl: last.volumeMl }),
  };
}

function readingPayload(
  draft: Draft,
  plain: Payload,
  facts: PatientFacts,
  writer: Writer,
): Payload | Refusal {
  const { volumeMl, reasonNotObtained, relation, position, note } = plain;
  const atMs = draft.atMs ?? writer.nowMs;
  const since = relation === 'after-void' ? lastVoidBefore(facts, atMs)?.sinceMin : undefined;
  const shared: Payload = {
    relation,
    ...(since === undefined ? {} : { sinceVoidMin: since }),
    ...(draft.values['scanner'] === undefined ? {} : { scanner: draft.values['scanner'] }),
    ...(position === undefined ? {} : { position }),
    ...(note === undefined ? {} : { note }),
    operator: writer.author,
    source: 'typed',
    doubts: doubtsOf(draft),
  };
  if (draft.values['notObtained'] === 'yes') return { ...shared, result: 'not-obtained', reasonNotObtained };
  if (volumeMl === undefined) {
    return refuse('entry/no-reading', {
      asked: 'Reading',
      found: 'no number',
      allowed: 'a volume in mL, or "none seen" with its reason',
      todo: 'Enter the volume, or touch "None seen".',
      where: 'volumeMl',
    });
  }
  const repeats: number[] = [];
  for (const typed of draft.repeats) {
    const read = numberTyped(typed, 'Repeat', 'mL');
    if (isRefusal(read)) return read;
    if (read !== undefined) repeats.push(read);
  }
  return {
    ...shared,
    result: isAtLeast(draft) ? 'at-least' : 'exact',
    volumeMl,
    method: 'automatic',
    ...(repeats.length === 0 ? {} : { repeatsMl: [...repeats, volumeMl as number], repeatRule: 'last' }),
  };
}

/** A reading worked out from three diameters: the coefficient and where it comes from stay with it. */
function caliperPayload(
  draft: Draft,
  plain: Payload,
  facts: PatientFacts,
  writer: Writer,
): Payload | Refusal {
  const { widthMm, heightMm, depthMm, coefficientId, relation, note } = plain;
  const chosen = coefficientById(String(coefficientId));
  if (isRefusal(chosen)) return chosen;
  const volume = caliperVolume(
    { widthMm: Number(widthMm), heightMm: Number(heightMm), depthMm: Number(depthMm) },
    chosen,
  );
  if (isRefusal(volume)) return volume;
  const since =
    relation === 'after-void' ? lastVoidBefore(facts, draft.atMs ?? writer.nowMs)?.sinceMin : undefined;
  const doubts = draft.chosen['doubts'] ?? [];
  return {
    result: doubts.some((one) => formWords.doubtsThatBoundBelow.some((bound) => bound === one))
      ? 'at-least'
      : 'exact',
    volumeMl: Math.round(volume.volumeMl),
    relation,
    ...(since === undefined ? {} : { sinceVoidMin: since }),
    doubts,
    method: 'calipers',
    coefficient: chosen.coefficient,
    coefficientSource: chosen.coefficientSource,
    widthMm,
    heightMm,
    depthMm,
    operator: writer.author,
    source: 'typed',
    ...(note === undefined ? {} : { note }),
  };
}

/** With a number a void is measured unless something else was said; without one it was not measured. */
export function voidHow(draft: Draft): string {
  return draft.values['how'] ?? ((draft.values['volumeMl'] ?? '') === '' ? 'not-measured' : 'measured');
}

function voidPayload(draft: Draft, plain: Payload): Payload | Refusal {
  const how = voidHow(draft);
  const { volumeMl, ...rest } = plain;
  if (how === 'pad-weighed') return { ...rest, how, ...(volumeMl === undefined ? {} : { padG: volumeMl }) };
  if (how === 'not-measured' || how === 'lost') {
    if (volumeMl !== undefined) {
      return refuse('entry/number-with-unmeasured', {
        asked: 'Passed',
        found: `${String(volumeMl)} mL together with "${how === 'lost' ? 'lost or spilt' : 'not measured'}"`,
        allowed: 'a number with "measured", or no number',
        todo: 'Erase the number, or choose "Measured".',
        where: 'volumeMl',
      });
    }
    return { ...rest, how };
  }
  return { ...rest, how, ...(volumeMl === undefined ? {} : { volumeMl }) };
}

/** Further entries that one save makes beside its own, such as the limit that is set when a watch starts. */
function payloadsOf(
  spec: FormSpec,
  draft: Draft,
  facts: PatientFacts,
  writer: Writer,
): readonly (readonly [EntryKind, Payload])[] | Refusal {
  const plain = plainPayload(spec, draft, writer.zone);
  if (isRefusal(plain)) return plain;
  const atMs = draft.atMs ?? writer.nowMs;
  switch (spec.id) {
    case 'reading': {
      const payload = readingPayload(draft, plain, facts, writer);
      return isRefusal(payload) ? payload : [['reading', payload]];
    }
    case 'calipers': {
      const payload = caliperPayload(draft, plain, facts, writer);
      return isRefusal(payload) ? payload : [['reading', payload]];
    }
    case 'void': {
      const payload = voidPayload(draft, plain);
      return isRefusal(payload) ? payload : [['void', payload]];
    }
    case 'drained':
      return [['drained', { ...plain, operator: writer.author }]];
    case 'call-made':
      return [
        [
          'call-made',
          { ...plain, replyDueAt: instantInZone(atMs + facts.settings.callReplyMin * minuteMs, writer.zone) },
        ],
      ];
    case 'call-answered': {
      const call = facts.calls.at(-1);
      return [['call-answered', { ...plain, call: call?.id }]];
    }
    case 'step-answered': {
      const advised = facts.timeline
        .filter((one) => one.entry.kind === 'step-advised' && one.standing.state === 'live')
        .at(-1);
      return [['step-answered', { ...plain, advised: advised?.entry.id, answer: 'departed' }]];
    }
    case 'watch-opened': {
      const { limitMl, ...watch } = plain;
      const opened: readonly [EntryKind, Payload] = ['watch-opened', { ...watch, owner: writer.author }];
      return limitMl === undefined
        ? [opened]
        : [['context', { topic: 'limit-ml', value: limitMl, limitSource: 'prescriber' }], opened];
    }
    case 'measure': {
      const typed = String(plain['value']);
      const value = Number(typed.replace(',', '.'));
      if (!/^\d{1,4}([.,]\d{1,2})?$/.test(typed))
        return refuse('entry/not-a-number', {
          asked: 'Value',
          found: `"${typed.slice(0, 8)}"`,
          allowed: 'a number such as 74 or 5.9',
          todo: 'Write the number alone; its unit stands on the key.',
          where: 'value',
        });
      return [['context', { ...plain, value }]];
    }
    case 'transferred': {
      // To another ward the watch is offered with the move; the giver keeps it until somebody there has read it back.
      const move: readonly [EntryKind, Payload] = ['transferred', plain];
      if (plain['ward'] === facts.ward || facts.watch.state === 'none' || facts.watch.state === 'closed')
        return [move];
      return [move, ['ownership-offered', { toRole: 'nurse', toWard: plain['ward'], occasion: 'transfer' }]];
    }
    default:
      return [[spec.kind, plain]];
  }
}

/** The draft as what the replica records, or why it cannot be recorded as it stands. The replica checks it again, whole. */
export function recordedAs(draft: Draft, facts: PatientFacts, writer: Writer): readonly Recorded[] | Refusal {
  const spec = formOf(draft.form);
  if (!spec)
    return refuse('entry/unknown-form', {
      asked: 'Entry',
      found: `"${draft.form}"`,
      allowed: 'a form of this screen',
      todo: 'Go back to the patient and start again.',
    });
  const payloads = payloadsOf(spec, draft, facts, writer);
  if (isRefusal(payloads)) return payloads;
  return payloads.map(
    ([kind, payload]) =>
      ({
        patient: draft.patient,
        kind,
        payload,
        ...(draft.atMs === undefined ? {} : { effectiveAt: instantInZone(draft.atMs, writer.zone) }),
        ...(draft.timeQuality === undefined ? {} : { timeQuality: draft.timeQuality }),
        ...(draft.corrects === undefined || kind !== spec.kind ? {} : { corrects: draft.corrects }),
      }) as Recorded,
  );
}
