/**
 * From facts to a protocol's question, and from its answer to the entry that keeps it. Used by every client that
 * records, so that the step is the same at the bedside, on the server and on the command line.
 */
import {
  addMinutes,
  ageInYears,
  controlIsOn,
  instantMs,
  isRefusal,
  minuteMs,
  refuse,
  wallClock,
  type Refusal,
} from '@ebbline/core/quantity';
import { readingStandardDeviationMl, wouldErrorMatter } from '@ebbline/core/filling';
import { unreliableCautions, type PatientFacts } from '@ebbline/core/facts';
import type { Advice, Entry, EntryKind, PayloadOf } from '@ebbline/core/record';
import { answerProtocol } from './answer-protocol.ts';
import type { CompiledProtocol } from './compile-protocol.ts';
import {
  mostOfInstilledPercent,
  type AgeBand,
  type DoNotDrain,
  type OverLimit,
  type ProtocolInput,
  type ProtocolRedFlag,
  type Trigger,
} from './dictionary.ts';
import { starterFor } from './starters.ts';

/** Which question an entry of a kind asks of the protocol; undefined when it asks none. */
export function triggerOf(kind: EntryKind, payload?: unknown): Trigger | undefined {
  switch (kind) {
    case 'watch-opened':
    case 'watch-resumed':
      return 'watch-opened';
    case 'reading':
      return 'reading';
    case 'void':
      return 'void';
    case 'drained': {
      const { route, difficulty } = (payload ?? {}) as Partial<PayloadOf<'drained'>>;
      // A catheter that could not be passed drained nothing: the bladder is as full as before.
      return route === 'from-catheter' ? undefined : difficulty === 'failed' ? 'time' : 'drained';
    }
    case 'catheter-removed':
      return 'catheter-removed';
    case 'catheter-placed':
    case 'instilled':
      return 'time';
    case 'symptom':
      return 'symptom';
    case 'red-flag':
      return 'symptom';
    default:
      return undefined;
  }
}

/** Gravest first: the order in which one of several signs is put to the protocol. */
const graveness: readonly ProtocolRedFlag[] = [
  'dysreflexia-signs',
  'new-leg-weakness',
  'fever-or-rigors',
  'clots-or-blocked',
  'trauma',
  'anuria-or-high-potassium',
];

function redFlagOf(facts: PatientFacts): ProtocolRedFlag {
  return graveness.find((flag) => facts.redFlags.some((one) => one.flag === flag)) ?? 'none';
}

function ageBandOf(facts: PatientFacts, zone: string): AgeBand | undefined {
  const birth = facts.identity?.birthDate;
  const years =
    facts.identity?.ageYears ?? (birth === undefined ? undefined : ageInYears(birth, facts.nowMs, zone));
  if (years === undefined) return facts.watch.setting === 'child' ? 'child' : undefined;
  // Over 75: S-clinical-E14. A child is one under 18: S-common-practice.
  return years < 18 ? 'child' : years > 75 ? 'over-75' : 'adult';
}

function doNotDrainOf(facts: PatientFacts): DoNotDrain {
  if (facts.cautions.includes('recent-urethral-or-bladder-surgery'))
    return 'recent-urethral-or-bladder-surgery';
  if (facts.cautions.includes('stricture')) return 'stricture';
  if (facts.declined.includes('catheter')) return 'refusal';
  if (
    facts.pairs.at(-1)?.readMuchDrainedLittle === true ||
    unreliableCautions.some((one) => facts.cautions.includes(one))
  )
    return 'reading-unreliable';
  return 'none';
}

/** Over the limit, by the reading just made with its own error, else by the estimate. A low bound may always be over. */
function overLimitOf(facts: PatientFacts, trigger: Trigger): OverLimit {
  const { settings, limitMl } = facts;
  if (trigger === 'drained') return 'no';
  const last = facts.readings.at(-1);
  if (trigger === 'reading' && last?.volumeMl !== undefined) {
    if (last.volumeMl >= limitMl) return 'yes';
    if (last.result === 'at-least' || last.trust === 'low-bound-only') return 'possible';
    const matter = wouldErrorMatter({
      volumeMl: last.volumeMl,
      standardDeviationMl: readingStandardDeviationMl(last.volumeMl, last.doubts),
      lineMl: limitMl,
    });
    return isRefusal(matter) || matter.otherSideProbability >= settings.tossUpLow ? 'possible' : 'no';
  }
  if ('notValid' in facts.estimate) return 'no';
  const over = facts.estimate.overLimitProbability;
  return over >= settings.tossUpHigh ? 'yes' : over >= settings.tossUpLow ? 'possible' : 'no';
}

export function protocolInputOf(
  facts: PatientFacts,
  trigger: Trigger,
  zone: string,
): ProtocolInput | Refusal {
  const { watch, nowMs } = facts;
  if (watch.setting === undefined || watch.openedAtMs === undefined) {
    return refuse('protocol/no-watch', {
      asked: 'Advised step',
      found: 'no open watch',
      allowed: 'a watch with its setting',
      todo: 'Open a watch with a reason, a last void and a limit.',
    });
  }
  const ageBand = ageBandOf(facts, zone);
  if (ageBand === undefined) {
    return refuse('protocol/no-age', {
      asked: 'Advised step',
      found: 'no age',
      allowed: 'an age or a birth date',
      todo: 'Add the age; adult limits are never used without it.',
    });
  }
  const openedAtMs = watch.openedAtMs;
  const since = <Item extends { readonly atMs: number }>(items: readonly Item[]): readonly Item[] =>
    items.filter((one) => one.atMs >= openedAtMs);
  const reading = trigger === 'reading' ? facts.readings.at(-1) : undefined;
  const drain = trigger === 'drained' ? facts.drains.at(-1) : undefined;
  const lastVoid = facts.voids.at(-1);
  const lastDrain = facts.drains.at(-1);
  const void_ =
    lastVoid && (lastDrain === undefined || lastVoid.atMs >= lastDrain.atMs) ? lastVoid : undefined;
  const residual = reading ? facts.residuals.find((one) => one.readingId === reading.id) : undefined;
  const volumeMl = reading?.volumeMl ?? drain?.volumeMl;
  const pair = facts.pairs.at(-1);
  const littleDrained = drain !== undefined && pair?.drainId === drain.id && pair.readMuchDrainedLittle;
  const removed = facts.timeline.findLast(
    (one) => one.entry.kind === 'catheter-removed' && one.standing.state === 'live',
  );
  return {
    trigger,
    setting: watch.setting,
    ...(volumeMl === undefined ? {} : { volumeMl }),
    volumeKind: reading
      ? reading.result === 'not-obtained'
        ? 'none-obtained'
        : reading.result
      : drain?.volumeMl === undefined
        ? 'missing'
        : 'exact',
    relation:
      reading?.relation === 'before-void'
        ? 'before-void'
        : reading?.relation === 'after-void'
          ? 'after-void'
          : 'unknown',
    ...(void_ ? { sinceVoidMin: Math.round((nowMs - void_.atMs) / minuteMs) } : {}),
    ...(facts.sinceEmptiedMin === undefined
      ? { sinceEmptiedMin: Math.round((nowMs - openedAtMs) / minuteMs) }
      : { sinceEmptiedMin: Math.round(facts.sinceEmptiedMin) }),
    discomfort: facts.discomfort,
    redFlag: redFlagOf(facts),
    ...(void_?.volumeMl === undefined ? {} : { voidedMl: void_.volumeMl }),
    ...(residual ? { residualMl: residual.residualMl } : {}),
    residualLate: residual?.late ?? false,
    ...(residual?.voidingEfficiencyPercent === undefined
      ? {}
      : { voidingEfficiencyPercent: residual.voidingEfficiencyPercent }),
    looksSoFar: since(facts.readings).length,
    drainsSoFar: since(facts.drains).filter((one) => one.route !== 'from-catheter').length,
    voidsSoFar: since(facts.voids).filter((one) => one.volumeMl !== undefined).length,
    lowResidualsInARow: facts.lowResidualsInARow,
    ageBand,
    limitMl: facts.limitMl,
    ...(facts.ownCapacityMl === undefined ? {} : { ownCapacityMl: facts.ownCapacityMl }),
    overLimit: overLimitOf(facts, trigger),
    doNotDrain: doNotDrainOf(facts),
    catheterInPlace: facts.catheter.inPlace,
    ...(removed
      ? { sinceCatheterOutMin: Math.round((nowMs - instantMs(removed.entry.effectiveAt)) / minuteMs) }
      : {}),
    ...(facts.backfill?.voids === 0 ? { instilledMl: facts.backfill.instilledMl } : {}),
    ...(facts.backfill?.voidedPercent === undefined
      ? {}
      : {
          voidedOfInstilledPercent: Math.min(mostOfInstilledPercent, facts.backfill.voidedPercent),
        }),
    trust: littleDrained
      ? 'unreliable'
      : drain
        ? 'good'
        : reading && reading.result !== 'not-obtained'
          ? reading.trust
          : unreliableCautions.some((one) => facts.cautions.includes(one))
            ? 'unreliable'
            : 'good',
    hourOfDay: wallClock(nowMs, zone).hour,
  };
}

/**
 * The protocol's next step for what has just been recorded. The forecast is left out of the question: the fold
 * brings a look forward by itself, so that the protocol's own time stays visible.
 *
 * Errors    those of `answerProtocol`, protocol/no-watch, protocol/no-age, protocol/none-for-setting
 */
export function adviseFrom(
  facts: PatientFacts,
  trigger: Trigger,
  zone: string,
  protocol?: CompiledProtocol,
): Advice | Refusal {
  const input = protocolInputOf(facts, trigger, zone);
  if (isRefusal(input)) return input;
  const chosen = protocol ?? starterFor(input.setting);
  if (!chosen) {
    return refuse('protocol/none-for-setting', {
      asked: 'Advised step',
      found: `the setting "${input.setting}"`,
      allowed: 'a setting for which the unit has a protocol',
      todo: 'Decide with the clinician, and set the next look by hand.',
    });
  }
  const kept = facts.watch.protocol;
  if (kept && (kept.id !== chosen.id || kept.version !== chosen.version) && controlIsOn('H6-version')) {
    return refuse('protocol/other-version', {
      asked: 'Advised step',
      found: `${chosen.id}, version ${chosen.version}`,
      allowed: `${kept.id}, version ${kept.version}, which this watch keeps`,
      todo: 'Decide with the version that was kept, or move this patient to the new one on the patient’s page.',
    });
  }
  return answerProtocol(chosen, input);
}

/** Payload of the entry that keeps an answer. */
export function advicePayload(
  advice: Advice,
  at: string,
  becauseOf?: Entry['id'],
): PayloadOf<'step-advised'> {
  return {
    step: advice.step,
    dueAt: addMinutes(at, advice.dueInMin),
    ...(advice.noLaterThanMin === undefined ? {} : { noLaterThanAt: addMinutes(at, advice.noLaterThanMin) }),
    ownerRole: advice.ownerRole,
    why: advice.why,
    ...(advice.tell === undefined ? {} : { tell: advice.tell }),
    rowId: advice.row.id,
    rowText: advice.row.text,
    rowSourceId: advice.row.sourceId,
    protocolId: advice.protocol.id,
    protocolVersion: advice.protocol.version,
    protocolApproval: advice.protocol.approval === 'example-not-approved' ? 'example-not-approved' : 'signed',
    ...(becauseOf === undefined ? {} : { becauseOf }),
  };
}
