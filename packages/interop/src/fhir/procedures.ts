/**
 * What was done with a catheter: Procedure, Device and DeviceUseStatement.
 *
 * Source    S-fhir-r4, S-fhir-code-table
 */
import { instantMs } from '@ebbline/core/quantity';
import type { Entry } from '@ebbline/core/record';
import type { TimelineEntry } from '@ebbline/core/facts';
import { concept, wordConcept } from './codes.ts';
import { drainedObservation } from './observations.ts';
import { add, entryResourceId, practitioner, when, type Making } from './making.ts';
import { quantity, reference, resource, type Reference } from './resource.ts';
import { plain } from './words.ts';

type Of<Kind extends Entry['kind']> = Extract<Entry, { kind: Kind }>;

const inError = (item: TimelineEntry): boolean => item.standing.state !== 'live';
const notes = (...texts: readonly (string | undefined)[]): { text: string }[] =>
  texts.filter((one): one is string => one !== undefined).map((text) => ({ text }));

export function addDrain(making: Making, item: TimelineEntry, entry: Of<'drained'>): void {
  const { payload } = entry;
  const who = practitioner(making, payload.operator ?? entry.author);
  let partOf: Reference | undefined;
  if (payload.route !== 'from-catheter') {
    const pair = making.facts.pairs.find((one) => one.drainId === entry.id);
    const read = making.facts.timeline.find((one) => one.entry.id === pair?.readingId);
    partOf = add(
      making,
      resource('Procedure', entryResourceId(making, item), {
        identifier: [{ system: 'urn:ietf:rfc:3986', value: `urn:uuid:${entry.id}` }],
        status: inError(item)
          ? 'entered-in-error'
          : payload.difficulty === 'failed'
            ? 'stopped'
            : 'completed',
        code: concept(
          making.codes,
          payload.route === 'in-out' ? 'intermittent-catheterisation' : 'indwelling-catheterisation',
        ),
        subject: making.patient,
        encounter: making.encounter,
        performedDateTime: when(making, instantMs(entry.effectiveAt)),
        performer: [{ actor: who }],
        ...(read === undefined
          ? {}
          : { reasonReference: [reference('Observation', entryResourceId(making, read))] }),
        bodySite: [concept(making.codes, 'bladder')],
        note: notes(
          payload.sizeCh === undefined ? undefined : `Gauge ${payload.sizeCh} Ch.`,
          payload.difficulty === undefined || payload.difficulty === 'none'
            ? undefined
            : payload.difficulty === 'failed'
              ? 'The catheter could not be passed.'
              : 'Some difficulty.',
          payload.trauma === true ? 'Trauma noted.' : undefined,
          payload.note,
        ),
      }),
    );
  }
  add(making, drainedObservation({ making, item }, entry, partOf));
}

/** The live removal that ends a placement, if any. */
const removalAfter = (making: Making, placed: TimelineEntry): TimelineEntry | undefined => {
  const later = making.facts.timeline.filter(
    (one) =>
      one.standing.state === 'live' &&
      (one.entry.kind === 'catheter-removed' || one.entry.kind === 'catheter-placed') &&
      instantMs(one.entry.effectiveAt) > instantMs(placed.entry.effectiveAt),
  );
  return later[0]?.entry.kind === 'catheter-removed' ? later[0] : undefined;
};

export function addPlacement(making: Making, item: TimelineEntry, entry: Of<'catheter-placed'>): void {
  const { payload } = entry;
  const id = entryResourceId(making, item);
  const who = practitioner(making, entry.author);
  const removed = inError(item) ? undefined : removalAfter(making, item);
  const atMs = instantMs(entry.effectiveAt);
  const device = add(
    making,
    resource('Device', id, {
      status: inError(item) ? 'entered-in-error' : removed === undefined ? 'active' : 'inactive',
      type: concept(making.codes, 'urinary-catheter'),
      patient: making.patient,
      property:
        payload.sizeCh === undefined
          ? []
          : [
              {
                type: concept(making.codes, 'catheter-gauge'),
                valueQuantity: [quantity(payload.sizeCh, '[Ch]')],
              },
            ],
    }),
  );
  const reason = wordConcept('catheter-reason', payload.reason, plain(payload.reason));
  add(
    making,
    resource('Procedure', id, {
      identifier: [{ system: 'urn:ietf:rfc:3986', value: `urn:uuid:${entry.id}` }],
      status: inError(item) ? 'entered-in-error' : 'completed',
      code: concept(
        making.codes,
        'indwelling-catheterisation',
        payload.route === 'suprapubic' ? 'Suprapubic catheter placed' : 'Indwelling catheter placed',
      ),
      subject: making.patient,
      encounter: making.encounter,
      performedDateTime: when(making, atMs),
      performer: [{ actor: who }],
      reasonCode: [reason],
      focalDevice: [{ manipulated: device }],
      note: notes(
        payload.note,
        payload.plannedRemovalAt === undefined
          ? undefined
          : `Planned removal ${when(making, instantMs(payload.plannedRemovalAt))}.`,
      ),
    }),
  );
  add(
    making,
    resource('DeviceUseStatement', id, {
      status: inError(item) ? 'entered-in-error' : removed === undefined ? 'active' : 'completed',
      subject: making.patient,
      timingPeriod: {
        start: when(making, atMs),
        ...(removed === undefined ? {} : { end: when(making, instantMs(removed.entry.effectiveAt)) }),
      },
      recordedOn: when(making, instantMs(entry.recordedAt)),
      source: who,
      device,
      reasonCode: [reason],
      bodySite: concept(making.codes, 'bladder'),
    }),
  );
}

export function addRemoval(making: Making, item: TimelineEntry, entry: Of<'catheter-removed'>): void {
  const placed = making.facts.timeline.findLast(
    (one) =>
      one.standing.state === 'live' &&
      one.entry.kind === 'catheter-placed' &&
      instantMs(one.entry.effectiveAt) <= instantMs(entry.effectiveAt),
  );
  add(
    making,
    resource('Procedure', entryResourceId(making, item), {
      identifier: [{ system: 'urn:ietf:rfc:3986', value: `urn:uuid:${entry.id}` }],
      status: inError(item) ? 'entered-in-error' : 'completed',
      code: concept(making.codes, 'catheter-removal'),
      subject: making.patient,
      encounter: making.encounter,
      performedDateTime: when(making, instantMs(entry.effectiveAt)),
      performer: [{ actor: practitioner(making, entry.author) }],
      reasonCode: [wordConcept('catheter-removal', entry.payload.reason, plain(entry.payload.reason))],
      ...(placed === undefined
        ? {}
        : { focalDevice: [{ manipulated: reference('Device', entryResourceId(making, placed)) }] }),
      note: notes(entry.payload.note),
    }),
  );
}
