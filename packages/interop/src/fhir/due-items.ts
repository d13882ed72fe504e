/**
 * What is due, what became of it, and what was found late: Task and DetectedIssue.
 *
 * Source    S-fhir-r4
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

const notes = (...texts: readonly (string | undefined)[]): { text: string }[] =>
  texts.filter((one): one is string => one !== undefined).map((text) => ({ text }));
const live = (item: TimelineEntry): boolean => item.standing.state === 'live';

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
          : `Rule ${due.row.id}: ${due.row.text} (${due.row.protocolId}, version ${due.row.protocolVersion}${due.row.approved ? '' : ', example, not approved'})`,
        due.broughtForward === undefined
          ? undefined
          : `Brought forward by the forecast; the protocol's own time is ${when(making, due.protocolDueAtMs)}.`,
        due.lengthened === undefined
          ? undefined
          : `Put back by the forecast inside the range of the rule; its usual time is ${when(making, due.protocolDueAtMs)}.`,
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
        : ` By one straight line it was over for ${Math.round(late.overMin.low)} to ${Math.round(late.overMin.high)} min.`;
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
