/**
 * Who has to do what by when, and what the protocol advised: ServiceRequest, PlanDefinition, GuidanceResponse,
 * Flag, CommunicationRequest and Communication. Tasks stand in due-items.ts.
 *
 * Source    S-fhir-r4; an example protocol is sent as a draft and says so
 */
import { instantMs, uuidOfText } from '@ebbline/core/quantity';
import type { Entry } from '@ebbline/core/record';
import type { TimelineEntry } from '@ebbline/core/facts';
import { concept, wordConcept } from './codes.ts';
import { add, entryResourceId, practitioner, when, type Making } from './making.ts';
import { planUrl } from './plan-url.ts';
import { reference, resource } from './resource.ts';
import { plain } from './words.ts';

type Of<Kind extends Entry['kind']> = Extract<Entry, { kind: Kind }>;
const notes = (...texts: readonly (string | undefined)[]): { text: string }[] =>
  texts.filter((one): one is string => one !== undefined).map((text) => ({ text }));
const live = (item: TimelineEntry): boolean => item.standing.state === 'live';

/** The unit's protocol as far as a chart needs it: which, which version, and whether anybody has signed it. */
function addPlan(making: Making, protocolId: string, version: number, approved: boolean): string {
  const id = uuidOfText(`plan:${protocolId}:${version}`);
  add(
    making,
    resource('PlanDefinition', id, {
      url: planUrl(protocolId),
      version: String(version),
      title: approved ? protocolId : `${protocolId} (example, not approved)`,
      status: approved ? 'active' : 'draft',
      experimental: !approved,
      type: {
        coding: [
          {
            system: 'http://terminology.hl7.org/CodeSystem/plan-definition-type',
            code: 'clinical-protocol',
            display: 'Clinical Protocol',
          },
        ],
        text: 'Clinical protocol',
      },
    }),
  );
  return `${planUrl(protocolId)}|${version}`;
}

export function addWatch(making: Making, item: TimelineEntry, entry: Of<'watch-opened'>): void {
  const { payload } = entry;
  const { watch } = making.facts;
  const isThis = watch.openedBy === entry.id;
  const status = !live(item)
    ? 'entered-in-error'
    : !isThis
      ? 'completed'
      : watch.state === 'paused'
        ? 'on-hold'
        : watch.state === 'closed'
          ? 'completed'
          : 'active';
  const plan =
    payload.protocolId === undefined
      ? undefined
      : addPlan(
          making,
          payload.protocolId,
          payload.protocolVersion ?? 1,
          making.facts.timeline.some(
            (one) =>
              one.entry.kind === 'step-advised' &&
              one.entry.payload.protocolId === payload.protocolId &&
              one.entry.payload.protocolApproval === 'signed',
          ),
        );
  add(
    making,
    resource('ServiceRequest', entryResourceId(making, item), {
      identifier: [{ system: 'urn:ietf:rfc:3986', value: `urn:uuid:${entry.id}` }],
      ...(plan === undefined ? {} : { instantiatesCanonical: [plan] }),
      status,
      intent: 'plan',
      code: concept(making.codes, 'watch'),
      subject: making.patient,
      encounter: making.encounter,
      occurrencePeriod: {
        start: when(making, instantMs(entry.effectiveAt)),
        ...(isThis && watch.closedAtMs !== undefined ? { end: when(making, watch.closedAtMs) } : {}),
      },
      authoredOn: when(making, instantMs(entry.recordedAt)),
      requester: practitioner(making, entry.author),
      reasonCode: [wordConcept('setting', payload.setting, `${plain(payload.setting)}: ${payload.reason}`)],
      note: notes(
        payload.note,
        payload.lastVoidAt === undefined
          ? undefined
          : `Last void, as told, ${when(making, instantMs(payload.lastVoidAt))}${payload.lastVoidMl === undefined ? '' : `, ${payload.lastVoidMl} mL`}.`,
      ),
    }),
  );
}

/** What the protocol answered, with its row. */
export function addAdvice(making: Making, item: TimelineEntry, entry: Of<'step-advised'>): void {
  const { payload } = entry;
  const because = making.facts.timeline.find((one) => one.entry.id === payload.becauseOf);
  const told =
    because === undefined
      ? undefined
      : {
          reading: 'Observation',
          void: 'Observation',
          drained: 'Observation',
          symptom: 'Observation',
          'bag-read': 'Observation',
        }[because.entry.kind as string];
  add(
    making,
    resource('GuidanceResponse', entryResourceId(making, item), {
      identifier: [{ system: 'urn:ietf:rfc:3986', value: `urn:uuid:${entry.id}` }],
      moduleCanonical: addPlan(
        making,
        payload.protocolId,
        payload.protocolVersion,
        payload.protocolApproval === 'signed',
      ),
      status: live(item) ? 'success' : 'entered-in-error',
      subject: making.patient,
      encounter: making.encounter,
      occurrenceDateTime: when(making, instantMs(entry.effectiveAt)),
      reasonCode: [wordConcept('step', payload.step, plain(payload.step))],
      ...(because === undefined || told === undefined
        ? {}
        : { reasonReference: [reference(told, entryResourceId(making, because))] }),
      note: notes(
        `${plain(payload.step)} by ${when(making, instantMs(payload.dueAt))}: ${plain(payload.ownerRole).toLowerCase()}.`,
        payload.why,
        `Rule ${payload.rowId}: ${payload.rowText} (${payload.rowSourceId})`,
        payload.protocolApproval === 'signed' ? undefined : 'Example protocol, not approved.',
        payload.tell === undefined ? undefined : `Tell: ${payload.tell}`,
      ),
    }),
  );
}

export function addFlag(making: Making, item: TimelineEntry, entry: Of<'caution'> | Of<'red-flag'>): void {
  const isCaution = entry.kind === 'caution';
  const word = isCaution ? entry.payload.caution : entry.payload.flag;
  const ended = isCaution && !entry.payload.present;
  const at = when(making, instantMs(entry.effectiveAt));
  add(
    making,
    resource('Flag', entryResourceId(making, item), {
      identifier: [{ system: 'urn:ietf:rfc:3986', value: `urn:uuid:${entry.id}` }],
      status: !live(item) ? 'entered-in-error' : ended ? 'inactive' : 'active',
      category: [
        {
          coding: [
            {
              system: 'http://terminology.hl7.org/CodeSystem/flag-category',
              code: 'clinical',
              display: 'Clinical',
            },
          ],
          text: 'Clinical',
        },
        concept(making.codes, entry.kind),
      ],
      code: wordConcept(entry.kind, word, plain(word)),
      subject: making.patient,
      encounter: making.encounter,
      period: ended ? { end: at } : { start: at },
      author: practitioner(making, entry.author),
    }),
  );
}

export function addCall(making: Making, item: TimelineEntry, entry: Of<'call-made'>): void {
  const answered = making.facts.timeline.some(
    (one) => live(one) && one.entry.kind === 'call-answered' && one.entry.payload.call === entry.id,
  );
  add(
    making,
    resource('CommunicationRequest', entryResourceId(making, item), {
      identifier: [{ system: 'urn:ietf:rfc:3986', value: `urn:uuid:${entry.id}` }],
      status: !live(item) ? 'entered-in-error' : answered ? 'completed' : 'active',
      category: [concept(making.codes, 'call')],
      priority: 'urgent',
      subject: making.patient,
      encounter: making.encounter,
      payload: [{ contentString: entry.payload.ask }],
      occurrencePeriod: { end: when(making, instantMs(entry.payload.replyDueAt)) },
      authoredOn: when(making, instantMs(entry.effectiveAt)),
      requester: practitioner(making, entry.author),
      note: notes(`To: ${entry.payload.to}, ${plain(entry.payload.toRole).toLowerCase()}.`),
    }),
  );
}

/** Answers to calls, handovers and acknowledgements: what one person told another. */
export function addCommunication(
  making: Making,
  item: TimelineEntry,
  entry: Of<'call-answered' | 'ownership-offered' | 'ownership-accepted' | 'overdue-acknowledged'>,
): void {
  const find = (id: string): TimelineEntry | undefined =>
    making.facts.timeline.find((one) => one.entry.id === id);
  const by = (kind: string, other: TimelineEntry | undefined): { reference: string }[] =>
    other === undefined ? [] : [reference(kind, entryResourceId(making, other))];
  const person = (id: string): string => making.directory.people.find((one) => one.id === id)?.name ?? id;
  const own = ((): Record<string, unknown> => {
    switch (entry.kind) {
      case 'call-answered':
        return {
          basedOn: by('CommunicationRequest', find(entry.payload.call)),
          category: [concept(making.codes, 'call-reply')],
          payload: [{ contentString: entry.payload.order }],
          note: notes(`By: ${entry.payload.by}.`, entry.payload.readBack ? 'Read back.' : 'Not read back.'),
        };
      case 'ownership-offered': {
        const to =
          entry.payload.toPerson === undefined
            ? `${plain(entry.payload.toRole ?? 'nurse').toLowerCase()}${entry.payload.toWard === undefined ? '' : ` of ${entry.payload.toWard}`}`
            : person(entry.payload.toPerson);
        return {
          category: [concept(making.codes, 'handover')],
          payload: [
            { contentString: `Watch offered to ${to} (${plain(entry.payload.occasion).toLowerCase()}).` },
          ],
          note: notes(entry.payload.note),
        };
      }
      case 'ownership-accepted':
        return {
          inResponseTo: by('Communication', find(entry.payload.offer)),
          category: [concept(making.codes, 'handover')],
          payload: [{ contentString: `Watch accepted. Read back: ${entry.payload.readBack}` }],
        };
      case 'overdue-acknowledged':
        return {
          category: [concept(making.codes, 'overdue-seen')],
          payload: [{ contentString: `Overdue item acknowledged: ${entry.payload.item}` }],
          note: notes(entry.payload.note),
        };
    }
  })();
  add(
    making,
    resource('Communication', entryResourceId(making, item), {
      identifier: [{ system: 'urn:ietf:rfc:3986', value: `urn:uuid:${entry.id}` }],
      status: live(item) ? 'completed' : 'entered-in-error',
      subject: making.patient,
      encounter: making.encounter,
      sent: when(making, instantMs(entry.effectiveAt)),
      sender: practitioner(making, entry.author),
      ...own,
    }),
  );
}
