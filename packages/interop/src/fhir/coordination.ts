/**
 * Who has to do what by when, and what the protocol advised: ServiceRequest, PlanDefinition, GuidanceResponse, Task,
 * DetectedIssue, Flag, CommunicationRequest and Communication.
 *
 * Source    S-fhir-r4; an example protocol is sent as a draft and says so
 */
import { instantMs, uuidOfText } from '@ebbline/core/quantity';
import type { Entry } from '@ebbline/core/record';
import type { DueItem, Owner, TimelineEntry } from '@ebbline/core/facts';
import { concept, wordConcept } from './codes.ts';
import {
  add,
  entryResourceId,
  organization,
  practitioner,
  wardLocation,
  when,
  type Making,
} from './making.ts';
import { reference, resource, type Reference } from './resource.ts';
import { plain } from './words.ts';

type Of<Kind extends Entry['kind']> = Extract<Entry, { kind: Kind }>;
const notes = (...texts: readonly (string | undefined)[]): { text: string }[] =>
  texts.filter((one): one is string => one !== undefined).map((text) => ({ text }));
const live = (item: TimelineEntry): boolean => item.standing.state === 'live';

function planUrl(protocolId: string): string {
  return `https://ebbline.example/fhir/PlanDefinition/${encodeURIComponent(protocolId)}`;
}

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
        `Row ${payload.rowId}: ${payload.rowText} (${payload.rowSourceId})`,
        payload.protocolApproval === 'signed' ? undefined : 'Example protocol, not approved.',
        payload.tell === undefined ? undefined : `Tell: ${payload.tell}`,
      ),
    }),
  );
}

interface OwnerMembers {
  readonly owner: Reference;
  readonly performerType?: readonly unknown[];
}

/** A person by name, or a role of a ward: the ward's organisation with the role beside it. An item is never without. */
function ownerMembers(making: Making, owner: Owner): OwnerMembers {
  if (owner.kind === 'person') return { owner: practitioner(making, owner.person) };
  return {
    owner: organization(making),
    performerType: [
      wordConcept(
        'role',
        owner.role,
        `${plain(owner.role)} of ${making.directory.wards.find((one) => one.id === owner.ward)?.name ?? owner.ward}`,
      ),
    ],
  };
}

const urgentSteps = new Set(['emergency']);

/** One Task for each entry that makes something due, whatever kind of item it makes, so that its end finds it again. */
const dueItemId = (making: Making, because: string): string =>
  uuidOfText(`due:${making.facts.patient}:${because}`);

export function addDueItem(making: Making, due: DueItem): void {
  const because = making.facts.timeline.find((one) => one.entry.id === due.because);
  const atMs = because === undefined ? making.facts.nowMs : instantMs(because.entry.recordedAt);
  const focus =
    because?.entry.kind === 'step-advised'
      ? reference('GuidanceResponse', entryResourceId(making, because))
      : undefined;
  const ward = due.owner.kind === 'role' ? due.owner.ward : making.facts.ward;
  const id = dueItemId(making, due.because);
  const task = add(
    making,
    resource('Task', id, {
      identifier: [
        { system: 'https://ebbline.example/due-item', value: `${making.facts.patient}:${due.key}` },
      ],
      status: due.acknowledgedBy === undefined ? 'requested' : 'accepted',
      intent: 'plan',
      priority: urgentSteps.has(due.step) ? 'stat' : due.overdue ? 'urgent' : 'routine',
      code: { ...wordConcept('due', due.kind, `${plain(due.step)}`) },
      description: due.why,
      ...(focus === undefined ? {} : { focus }),
      for: making.patient,
      encounter: making.encounter,
      authoredOn: when(making, atMs),
      lastModified: when(making, atMs),
      ...ownerMembers(making, due.owner),
      location: wardLocation(making, ward),
      restriction: { period: { end: when(making, due.dueAtMs) } },
      note: notes(
        due.row === undefined
          ? undefined
          : `Row ${due.row.id}: ${due.row.text} (${due.row.protocolId}, version ${due.row.protocolVersion}${due.row.approved ? '' : ', example, not approved'})`,
        due.broughtForward === undefined
          ? undefined
          : `Brought forward by the forecast; the protocol's own time is ${when(making, due.protocolDueAtMs)}.`,
        due.tell === undefined ? undefined : `Tell: ${due.tell}`,
      ),
    }),
  );
  if (!due.overdue) return;
  add(
    making,
    resource('DetectedIssue', id, {
      status: 'preliminary',
      code: concept(making.codes, 'measurement-overdue'),
      severity: 'moderate',
      patient: making.patient,
      identifiedDateTime: when(making, due.dueAtMs),
      implicated: [task],
      detail: `${plain(due.step)} was due at ${when(making, due.dueAtMs)} and is not done.`,
    }),
  );
}

interface Closing {
  readonly status: 'completed' | 'cancelled' | 'entered-in-error';
  readonly dueAt?: string;
  readonly closedAtMs?: number;
  readonly words: string;
  readonly focus?: boolean;
}

/** How the item that an entry made due came to its end; nothing when the entry makes none due. */
function closingOf(making: Making, item: TimelineEntry): Closing | undefined {
  const { entry } = item;
  const { timeline, pastLooks } = making.facts;
  const answering = (kind: Entry['kind'], to: (other: Entry) => boolean): TimelineEntry | undefined =>
    timeline.find((one) => live(one) && one.entry.kind === kind && to(one.entry));
  const recordedMs = (one: TimelineEntry | undefined): { closedAtMs?: number } =>
    one === undefined ? {} : { closedAtMs: instantMs(one.entry.recordedAt) };
  const ended = (status: 'completed' | 'cancelled'): Closing['status'] =>
    live(item) ? status : 'entered-in-error';
  switch (entry.kind) {
    case 'step-advised': {
      const answer = answering(
        'step-answered',
        (one) => one.kind === 'step-answered' && one.payload.advised === entry.id,
      );
      const past = pastLooks.find((one) => one.advised === entry.id);
      const taken = answer?.entry.kind === 'step-answered' && answer.entry.payload.answer === 'taken';
      const done = taken || past?.doneAtMs !== undefined;
      return {
        status: ended(done ? 'completed' : 'cancelled'),
        dueAt: entry.payload.dueAt,
        words: plain(entry.payload.step),
        focus: true,
        ...(past?.doneAtMs === undefined ? recordedMs(answer) : { closedAtMs: past.doneAtMs }),
      };
    }
    case 'call-made': {
      const answer = answering(
        'call-answered',
        (one) => one.kind === 'call-answered' && one.payload.call === entry.id,
      );
      return {
        status: ended('completed'),
        dueAt: entry.payload.replyDueAt,
        words: 'Call clinician',
        ...recordedMs(answer),
      };
    }
    case 'watch-paused':
      return { status: ended('completed'), dueAt: entry.payload.backBy, words: 'Look again' };
    case 'catheter-placed':
    case 'catheter-reviewed':
      return {
        status: ended('completed'),
        words: 'Review catheter',
        ...(entry.payload.plannedRemovalAt === undefined ? {} : { dueAt: entry.payload.plannedRemovalAt }),
      };
    case 'consent':
      return entry.payload.offerAgainAt === undefined
        ? undefined
        : { status: ended('completed'), dueAt: entry.payload.offerAgainAt, words: 'Ask and examine' };
    case 'watch-opened':
    case 'reading':
    case 'void':
    case 'drained':
    case 'step-answered': {
      // These make something due only while no step has been advised on them.
      const advised = timeline.some(
        (one) =>
          one.entry.kind === 'step-advised' &&
          (one.entry.payload.becauseOf === entry.id ||
            (entry.kind === 'step-answered' && one.entry.id === entry.payload.advised)),
      );
      return advised ? undefined : { status: ended('cancelled'), words: 'Ask and examine' };
    }
    default:
      return undefined;
  }
}

/** Items that were due and are so no more, under the ids that they were sent with before. */
export function addClosedItems(making: Making): void {
  const open = new Set(making.facts.due.map((one) => one.because));
  for (const item of making.facts.timeline) {
    if (open.has(item.entry.id)) continue;
    const closing = closingOf(making, item);
    if (closing === undefined) continue;
    const atMs = instantMs(item.entry.recordedAt);
    const owner = making.facts.ownership.findLast((one) => one.fromMs <= atMs)?.owner ?? making.facts.owner;
    add(
      making,
      resource('Task', dueItemId(making, item.entry.id), {
        identifier: [
          { system: 'https://ebbline.example/due-item', value: `${making.facts.patient}:${item.entry.id}` },
        ],
        status: closing.status,
        intent: 'plan',
        priority: 'routine',
        code: concept(making.codes, 'due-item', closing.words),
        ...(closing.focus === true
          ? { focus: reference('GuidanceResponse', entryResourceId(making, item)) }
          : {}),
        for: making.patient,
        encounter: making.encounter,
        authoredOn: when(making, atMs),
        lastModified: when(making, Math.max(atMs, closing.closedAtMs ?? atMs)),
        ...ownerMembers(making, owner),
        ...(closing.dueAt === undefined
          ? {}
          : { restriction: { period: { end: when(making, instantMs(closing.dueAt)) } } }),
      }),
    );
  }
}

export function addLateDetections(making: Making): void {
  for (const late of making.facts.lateDetections) {
    const by = making.facts.timeline.find((one) => one.entry.id === late.byEntry);
    const over =
      late.overMin === undefined
        ? ''
        : ` Probably over for ${Math.round(late.overMin.low)} to ${Math.round(late.overMin.high)} min.`;
    add(
      making,
      resource('DetectedIssue', uuidOfText(`late:${late.byEntry}`), {
        status: 'final',
        code: concept(making.codes, 'late-detection'),
        severity: 'high',
        patient: making.patient,
        identifiedDateTime: when(making, late.atMs),
        ...(by === undefined ? {} : { implicated: [reference('Observation', entryResourceId(making, by))] }),
        detail: `${late.volumeMl} mL, with a limit of ${late.limitMl} mL.${over}`,
      }),
    );
  }
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
