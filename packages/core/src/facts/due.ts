/**
 * What is due, when, and who has it. Due items fold from entries like everything else: the protocol's answers are
 * entries (`step-advised`), calls, catheters and pauses are entries. An open watch is never without a due item.
 */
import { controlIsOn, dayMs, instantMs, minuteMs } from '../quantity/index.ts';
import { mayLengthenAt, type Entry, type Step, type UnitSettings } from '../record/index.ts';
import { catheterReviewEveryMs } from './catheter.ts';
import { looksHaveEnded, sameOwner } from './ownership.ts';
import type {
  CatheterFact,
  DueItem,
  DueKind,
  Owner,
  OwnershipSpan,
  PastLook,
  Standing,
  WatchFact,
} from './types.ts';

type Of<Kind extends Entry['kind']> = Extract<Entry, { kind: Kind }>;
type Advised = Of<'step-advised'>;

/** Due times are whole minutes, as they are shown: what reads 14:40 is ten minutes late at 14:50, not some seconds after. */
const wholeMinute = (atMs: number): number => Math.floor(atMs / minuteMs) * minuteMs;

const lookSteps: readonly Step[] = ['look-again', 'measure-again-now', 'measure-residual', 'ask-and-examine'];
export const isLookStep = (step: Step): boolean => lookSteps.includes(step);

const kindOf = (step: Step): DueKind =>
  step === 'measure-residual'
    ? 'residual'
    : isLookStep(step)
      ? 'look'
      : step === 'review-catheter'
        ? 'catheter-review'
        : 'step';

/**
 * An entry after which a look counts as done: somebody measured, or tried and said why nothing was obtained, or
 * drained. A catheter that could not be passed tells nothing of the content.
 */
const isLook = (entry: Entry): boolean =>
  entry.kind === 'reading' ||
  (entry.kind === 'drained' &&
    entry.payload.route !== 'from-catheter' &&
    entry.payload.difficulty !== 'failed');

export interface DueInputs {
  /** Live entries of the patient up to now, by effective time. */
  readonly live: readonly Entry[];
  readonly standing: ReadonlyMap<string, Standing>;
  readonly watch: WatchFact;
  readonly catheter: CatheterFact;
  readonly owner: Owner;
  readonly spans: readonly OwnershipSpan[];
  readonly settings: UnitSettings;
  readonly nowMs: number;
  readonly ward: string;
  readonly forecast: DueForecast;
  /** The forecast as it was at an earlier instant, from the entries that stand. */
  readonly forecastAt: (atMs: number) => DueForecast;
}

export interface DueForecast {
  /** When the chance of being over the limit reaches the unit's tolerance. */
  readonly toleranceMs: number | undefined;
  /** Enough is known to let a look wait: valid, two informative entries, no catheter. */
  readonly bears: boolean;
}

/** Advice that still counts: itself live, and so is the entry that it was given for. */
function standingAdvice(inputs: DueInputs): readonly Advised[] {
  return inputs.live.filter(
    (one): one is Advised =>
      one.kind === 'step-advised' &&
      (one.payload.becauseOf === undefined ||
        (inputs.standing.get(one.payload.becauseOf)?.state ?? 'live') === 'live'),
  );
}

interface Draft {
  readonly kind: DueKind;
  readonly step: Step;
  readonly dueAtMs: number;
  readonly because: string;
  readonly why: string;
  readonly advised?: Advised;
  readonly owner?: Owner;
}

function mainDraft(inputs: DueInputs): Draft | undefined {
  const { watch, live } = inputs;
  if (watch.state !== 'open' && watch.state !== 'paused') return undefined;
  if (looksHaveEnded(watch.setting)) return undefined;
  if (watch.state === 'paused') {
    const pause = live.findLast((one) => one.kind === 'watch-paused');
    return {
      kind: 'return',
      step: 'look-again',
      dueAtMs: watch.pausedUntilMs ?? inputs.nowMs,
      because: pause?.id ?? watch.openedBy ?? '',
      why: 'Back from the pause: the watch goes on.',
    };
  }
  const advice = standingAdvice(inputs);
  const latest = advice.at(-1);
  const answer =
    latest === undefined
      ? undefined
      : live.findLast(
          (one): one is Of<'step-answered'> =>
            one.kind === 'step-answered' && one.payload.advised === latest.id,
        );
  const openedAtMs = watch.openedAtMs ?? inputs.nowMs;
  if (latest === undefined || instantMs(latest.effectiveAt) < openedAtMs) {
    return {
      kind: 'look',
      step: 'look-again',
      dueAtMs: openedAtMs,
      because: watch.openedBy ?? '',
      why: 'No step has been advised on this watch yet: look now.',
    };
  }
  const doneBy = live.find(
    (one) => isLook(one) && instantMs(one.effectiveAt) > instantMs(latest.effectiveAt),
  );
  if (answer?.payload.nextLookAt !== undefined) {
    return {
      kind: 'look',
      step: 'look-again',
      dueAtMs: instantMs(answer.payload.nextLookAt),
      because: answer.id,
      why: answer.payload.reason ?? 'Set by hand.',
    };
  }
  if (doneBy || (answer && isLookStep(latest.payload.step))) {
    // A look was done and nothing was advised on it (made elsewhere, or without the protocol): somebody decides now.
    const since = doneBy ?? answer;
    return {
      kind: 'look',
      step: 'ask-and-examine',
      dueAtMs: instantMs((since as Entry).effectiveAt),
      because: (since as Entry).id,
      why: 'The last entry has no advised step yet: decide now.',
    };
  }
  if (answer) {
    return {
      kind: 'look',
      step: 'look-again',
      dueAtMs: instantMs(answer.effectiveAt),
      because: answer.id,
      why: 'The step was answered; no next look is set yet.',
    };
  }
  return {
    kind: kindOf(latest.payload.step),
    step: latest.payload.step,
    dueAtMs: instantMs(latest.payload.dueAt),
    because: latest.id,
    why: latest.payload.why,
    advised: latest,
  };
}

function drafts(inputs: DueInputs): readonly Draft[] {
  const { live, catheter, watch } = inputs;
  const found: Draft[] = [];
  const main = mainDraft(inputs);
  // With an indwelling catheter in, looks are not due; its own steps are.
  if (main && !(catheter.inPlace && (main.kind === 'look' || main.kind === 'residual'))) found.push(main);
  for (const call of live) {
    if (call.kind !== 'call-made') continue;
    const answered = live.some((one) => one.kind === 'call-answered' && one.payload.call === call.id);
    if (!answered)
      found.push({
        kind: 'call-reply',
        step: 'call-clinician',
        dueAtMs: instantMs(call.payload.replyDueAt),
        because: call.id,
        why: call.payload.ask,
      });
  }
  if (catheter.inPlace && watch.state !== 'closed') {
    const placed = live.findLast(
      (one) =>
        one.kind === 'catheter-placed' ||
        one.kind === 'catheter-reviewed' ||
        (one.kind === 'drained' && one.payload.route === 'left-in' && one.payload.difficulty !== 'failed'),
    );
    const planned = catheter.plannedRemovalAtMs;
    if (placed) {
      found.push(
        planned === undefined
          ? {
              kind: 'catheter-review',
              step: 'review-catheter',
              dueAtMs: instantMs(placed.effectiveAt) + catheterReviewEveryMs,
              because: placed.id,
              why: 'Is the catheter still needed? Say the reason, or plan its removal.',
            }
          : {
              kind: 'catheter-removal',
              step: 'remove-catheter',
              dueAtMs: planned,
              because: placed.id,
              why: 'Planned removal: take it out, or say why not.',
            },
      );
    }
  }
  const consent = live.findLast(
    (one): one is Of<'consent'> => one.kind === 'consent' && one.payload.to === 'bladder-ultrasound',
  );
  if (
    consent &&
    consent.payload.answer === 'declined' &&
    consent.payload.offerAgainAt !== undefined &&
    watch.state === 'open'
  ) {
    found.push({
      kind: 'consent-again',
      step: 'ask-and-examine',
      dueAtMs: instantMs(consent.payload.offerAgainAt),
      because: consent.id,
      why: 'The look was declined; offer it again once.',
    });
  }
  return found;
}

/**
 * When a look is due: the protocol's time, earlier when the forecast says so, and later only where the unit has signed
 * for it, as long as the chance of being over the limit stays under the tolerance, and never past the row's own range.
 */
function lookDueMs(
  { effectiveAt, payload }: Advised,
  { toleranceMs, bears }: DueForecast,
  settings: UnitSettings,
  nowMs: number,
): number {
  const protocolMs = wholeMinute(instantMs(payload.dueAt));
  const leastMs = settings.forwardAtLeastMin * minuteMs;
  const reachedMs = Math.max(toleranceMs ?? Number.POSITIVE_INFINITY, instantMs(effectiveAt));
  // The forecast may bring a look forward, never put it back past what the protocol allows.
  if (protocolMs - reachedMs >= leastMs)
    return controlIsOn('H3-forward') ? wholeMinute(reachedMs) : protocolMs;
  if (!bears || !mayLengthenAt(settings, nowMs)) return protocolMs;
  const rangeMs = payload.noLaterThanAt === undefined ? protocolMs : instantMs(payload.noLaterThanAt);
  const waitMs = wholeMinute(
    controlIsOn('H3-lengthen-in-range')
      ? Math.min(reachedMs, rangeMs)
      : Math.min(reachedMs, protocolMs + dayMs),
  );
  return waitMs - protocolMs >= leastMs ? waitMs : protocolMs;
}

export function dueItems(inputs: DueInputs): readonly DueItem[] {
  const { settings, nowMs, live } = inputs;
  const acknowledged = new Map<string, string>();
  for (const entry of live)
    if (entry.kind === 'overdue-acknowledged') acknowledged.set(entry.payload.item, entry.author);
  return drafts(inputs)
    .map((draft): DueItem => {
      const protocolDueAtMs = wholeMinute(draft.dueAtMs);
      const dueAtMs =
        draft.kind === 'look' && draft.step === 'look-again' && draft.advised !== undefined
          ? lookDueMs(draft.advised, inputs.forecast, settings, nowMs)
          : protocolDueAtMs;
      const lateMs = nowMs - dueAtMs;
      const overdue = controlIsOn('H3-overdue') && lateMs >= settings.graceMin * minuteMs;
      const overdueMin = overdue ? lateMs / minuteMs : 0;
      const sinceGraceMin = lateMs / minuteMs - settings.graceMin;
      const key = `${draft.kind}:${draft.because}`;
      const by = acknowledged.get(key);
      const row = draft.advised?.payload;
      return {
        key,
        kind: draft.kind,
        step: draft.step,
        dueAtMs,
        protocolDueAtMs,
        ...(dueAtMs < protocolDueAtMs ? { broughtForward: { fromMs: protocolDueAtMs, toMs: dueAtMs } } : {}),
        ...(dueAtMs > protocolDueAtMs ? { lengthened: { fromMs: protocolDueAtMs, toMs: dueAtMs } } : {}),
        owner: draft.owner ?? inputs.owner,
        overdue,
        overdueMin,
        climbed: !overdue
          ? 'owner'
          : sinceGraceMin >= settings.climbToNoticeMin && by === undefined
            ? 'notice'
            : sinceGraceMin >= settings.climbToChargeMin
              ? 'charge-nurse'
              : 'owner',
        ...(by === undefined ? {} : { acknowledgedBy: by }),
        because: draft.because,
        ...(row
          ? {
              row: {
                id: row.rowId,
                text: row.rowText,
                sourceId: row.rowSourceId,
                protocolId: row.protocolId,
                protocolVersion: row.protocolVersion,
                approved: row.protocolApproval === 'signed',
              },
            }
          : {}),
        why: draft.why,
        ...(row?.tell === undefined ? {} : { tell: row.tell }),
      };
    })
    .sort((a, b) => a.dueAtMs - b.dueAtMs || (a.key < b.key ? -1 : 1));
}

const ownerAt = (spans: readonly OwnershipSpan[], atMs: number, ward: string): Owner =>
  spans.findLast((one) => one.fromMs <= atMs)?.owner ?? { kind: 'role', role: 'charge-nurse', ward };

/**
 * Every look that was due, and what became of it. A look that another step took over before its time was up is not
 * counted; one that was already overdue by then was missed.
 */
export function pastLooks(inputs: DueInputs): readonly PastLook[] {
  const { live, settings, nowMs, watch } = inputs;
  const advice = standingAdvice(inputs);
  const graceMs = settings.graceMin * minuteMs;
  const looks: PastLook[] = [];
  for (const [index, advised] of advice.entries()) {
    if (!isLookStep(advised.payload.step)) continue;
    const fromMs = instantMs(advised.effectiveAt);
    // A look is measured by the protocol's time; where the forecast had lengthened it, by that.
    const protocolMs = wholeMinute(instantMs(advised.payload.dueAt));
    const dueAtMs =
      advised.payload.noLaterThanAt !== undefined && mayLengthenAt(settings, fromMs)
        ? Math.max(protocolMs, lookDueMs(advised, inputs.forecastAt(fromMs), settings, fromMs))
        : protocolMs;
    const done = live.find((one) => isLook(one) && instantMs(one.effectiveAt) > fromMs);
    const doneAtMs = done ? instantMs(done.effectiveAt) : undefined;
    const next = advice[index + 1];
    const nextMs = next ? instantMs(next.effectiveAt) : undefined;
    const endMs = watch.closedAtMs !== undefined && watch.closedAtMs >= fromMs ? watch.closedAtMs : undefined;
    const takenOverMs = Math.min(nextMs ?? Number.POSITIVE_INFINITY, endMs ?? Number.POSITIVE_INFINITY);
    const owner = ownerAt(inputs.spans, dueAtMs, inputs.ward);
    const base = { dueAtMs, owner, advised: advised.id };
    if (doneAtMs !== undefined && doneAtMs <= takenOverMs) {
      const lateMin = Math.max(0, (doneAtMs - dueAtMs) / minuteMs);
      looks.push({ ...base, doneAtMs, outcome: doneAtMs > dueAtMs + graceMs ? 'late' : 'in-time', lateMin });
    } else if (takenOverMs < Number.POSITIVE_INFINITY) {
      if (takenOverMs > dueAtMs + graceMs)
        looks.push({
          ...base,
          ...(doneAtMs === undefined ? {} : { doneAtMs }),
          outcome: 'missed',
          lateMin: ((doneAtMs ?? takenOverMs) - dueAtMs) / minuteMs,
        });
    } else if (nowMs > dueAtMs + graceMs) {
      looks.push({ ...base, outcome: 'missed', lateMin: (nowMs - dueAtMs) / minuteMs });
    }
  }
  return looks;
}

/** Every open item once, under the one who has it: what each person's list shows. */
export function worklists(items: readonly DueItem[]): readonly { owner: Owner; items: readonly DueItem[] }[] {
  const lists: { owner: Owner; items: DueItem[] }[] = [];
  for (const item of items) {
    const held = lists.find((one) => sameOwner(one.owner, item.owner));
    if (held) held.items.push(item);
    else lists.push({ owner: item.owner, items: [item] });
  }
  return lists;
}
