/** Sentences that a tired person understands. Time first, then the reason; every volume carries mL. */
import { minuteMs } from '../quantity/index.ts';
import {
  plainCrossing,
  readingStandardDeviationMl,
  wouldErrorMatter,
  type FillingEstimate,
} from '../filling/index.ts';
import { isRefusal } from '../quantity/index.ts';
import {
  anotherReading,
  type AgreementPair,
  type DueItem,
  type LateDetection,
  type PatientFacts,
  type ResidualFact,
} from '../facts/index.ts';
import type { Doubt } from '../record/index.ts';
import { anotherReadingSentence } from './another-reading.ts';
import * as labels from './labels.ts';
import { aboutMl, clock, clockOrDay, duration, theirs, whole, volumeWords } from './words.ts';

export const hasEstimate = (facts: PatientFacts): facts is PatientFacts & { estimate: FillingEstimate } =>
  !('notValid' in facts.estimate);

const limitWords = (facts: PatientFacts): string => `${theirs(facts)} limit of ${whole(facts.limitMl)} mL`;

/** What it holds and when it reaches the limit, or why there is no number. */
export function forecastSentence(facts: PatientFacts, zone: string): string {
  const { estimate } = facts;
  if ('notValid' in estimate)
    return labels.notValid[estimate.notValid] ?? 'No estimate here. Go by the protocol and the person.';
  if (facts.catheter.inPlace && facts.catheter.status !== 'blocked')
    return 'A catheter drains this bladder. A reading above the limit would mean that it is blocked.';
  const { crossing, informativeEntries } = estimate;
  if (informativeEntries === 0) return 'Too little is recorded to estimate. That does not mean empty.';
  if (crossing.alreadyOver) return `It is probably over ${limitWords(facts)} already.`;
  const { earliestAtMs, likelyAtMs, latestAtMs } = crossing;
  if (earliestAtMs === undefined)
    return `It is not likely to reach ${limitWords(facts)} within a day, if what is known is all there is.`;
  const at = (ms: number): string => clockOrDay(ms, facts.nowMs, zone);
  if (earliestAtMs <= facts.nowMs)
    return likelyAtMs === undefined
      ? `It could already be over ${limitWords(facts)}.`
      : `It could already be over ${limitWords(facts)}; most likely it reaches it about ${at(likelyAtMs)}.`;
  if (latestAtMs === undefined)
    return `It may reach ${limitWords(facts)} from ${at(earliestAtMs)} on${likelyAtMs === undefined ? '' : `, most likely about ${at(likelyAtMs)}`}.`;
  return `It may reach ${limitWords(facts)} between ${at(earliestAtMs)} and ${at(latestAtMs)}${likelyAtMs === undefined ? '' : `, most likely about ${at(likelyAtMs)}`}.`;
}

/** One sentence for a due item: by when, what, and why. */
export function nextStepSentence(item: DueItem, facts: PatientFacts, zone: string): string {
  const by = clockOrDay(item.dueAtMs, facts.nowMs, zone);
  if (item.kind === 'call-reply') {
    const call = facts.calls.find((one) => one.id === item.because);
    const asked = call ? `${call.to} was called at ${clock(call.atMs, zone)}` : 'Somebody was called';
    return item.overdue
      ? `${asked}, no answer in ${duration((facts.nowMs - (call?.atMs ?? item.dueAtMs)) / minuteMs)}. Call the next on the ladder.`
      : `${asked}; the answer is due by ${by}.`;
  }
  if (item.kind === 'return')
    return `Away (${(labels.pauseReasons[facts.watch.pauseReason ?? 'other'] ?? 'Away').toLowerCase()}). If not back by ${by}, this comes up by itself.`;
  if (item.kind === 'catheter-removal')
    return `Catheter day ${facts.catheter.catheterDays}. Planned out at ${by}: take it out, or write why not.`;
  if (item.kind === 'catheter-review')
    return `By ${by}: is the catheter still needed? Write the reason, or plan its removal.`;
  const step = labels.steps[item.step];
  const moved = item.broughtForward
    ? ` Brought forward from ${clockOrDay(item.broughtForward.fromMs, facts.nowMs, zone)} by the forecast.`
    : item.lengthened
      ? ` Put back from ${clockOrDay(item.lengthened.fromMs, facts.nowMs, zone)} by the forecast, inside the range of its rule.`
      : '';
  const reason = item.step === 'look-again' ? forecastSentence(facts, zone) : item.why;
  return `${step} by ${by}. ${reason}${moved}`;
}

export interface ReadingDraft {
  readonly volumeMl?: number;
  readonly result: 'exact' | 'at-least' | 'not-obtained';
  readonly relation?: 'before-void' | 'after-void' | 'no-void';
  readonly doubts: readonly Doubt[];
  readonly atMs: number;
}

/** What the number being typed would mean here: at most two sentences. It never suggests a number. */
export function readingMeaning(draft: ReadingDraft, facts: PatientFacts, zone: string): readonly string[] {
  if (draft.result === 'not-obtained') return ['Nothing was obtained. That does not mean empty.'];
  if (draft.volumeMl === undefined) return [forecastSentence(facts, zone)];
  const cut =
    draft.result === 'at-least' ||
    draft.doubts.some((one) => one === 'cut-below' || one === 'edge-outside' || one === 'shadow');
  const limit = `${whole(facts.limitMl)} mL`;
  if (
    draft.doubts.includes('second-fluid') ||
    ('notValid' in facts.estimate && facts.estimate.notValid !== 'not-watched')
  ) {
    return [
      `Do not act on ${whole(draft.volumeMl)} mL alone.`,
      'Examine, and find out which space is the bladder.',
    ];
  }
  if (cut) {
    const low = `At least ${whole(draft.volumeMl)} mL: part of the bladder was not seen.`;
    return draft.volumeMl >= facts.limitMl
      ? [low, `That is over ${limit} already.`]
      : [low, `It could already be over ${limit}, so the doubt matters: measure again now, aiming lower.`];
  }
  const spread = readingStandardDeviationMl(draft.volumeMl, draft.doubts);
  const matter = wouldErrorMatter({
    volumeMl: draft.volumeMl,
    standardDeviationMl: spread,
    lineMl: facts.limitMl,
  });
  const side =
    draft.volumeMl >= facts.limitMl
      ? `That is over ${theirs(facts)} limit of ${limit}.`
      : `That is under ${theirs(facts)} limit of ${limit}.`;
  if (isRefusal(matter)) return [side];
  if (matter.verdict === 'toss-up') {
    const another = anotherReading(draft.volumeMl, draft.doubts, facts);
    return [
      `${side} The reading's own error leaves it open: about ${Math.round(matter.otherSideProbability * 10)} in 10 that it is on the other side.`,
      another === undefined ? 'Measure again; it takes two minutes.' : anotherReadingSentence(another),
    ];
  }
  if (draft.volumeMl >= facts.limitMl) return [side, 'A second reading would probably not change the step.'];
  const plain = plainCrossing({
    volumeMl: draft.volumeMl,
    atMs: draft.atMs,
    limitMl: facts.limitMl,
    lowMlPerH: facts.settings.plainRateLowMlPerH,
    highMlPerH: facts.settings.plainRateHighMlPerH,
  });
  if (isRefusal(plain)) return [side];
  return [
    side,
    `At ${facts.settings.plainRateLowMlPerH} to ${facts.settings.plainRateHighMlPerH} mL an hour it gets there between ${clock(plain.earliestAtMs, zone)} and ${clock(plain.latestAtMs, zone)}.`,
  ];
}

export function residualSentence(residual: ResidualFact): string {
  const value = residual.atLeast
    ? `at least ${whole(residual.residualMl)} mL`
    : `${whole(residual.residualMl)} mL`;
  if (residual.sinceVoidMin === undefined)
    return `Residual ${value}; the void that it follows is not recorded.`;
  const minutes = Math.round(residual.sinceVoidMin);
  if (!residual.late) return `Residual ${value}, ${minutes} min after the void: in time.`;
  const back =
    residual.carriedBackMl && !residual.atLeast
      ? ` Carried back to the void: about ${aboutMl(residual.carriedBackMl.likely)} mL (${aboutMl(residual.carriedBackMl.low)} to ${aboutMl(residual.carriedBackMl.high)} mL). The reading itself stands.`
      : '';
  return `Residual ${value}, ${minutes} min after the void: late.${back}`;
}

export function pairSentence(pair: AgreementPair): string {
  const read = pair.readAtLeast ? `at least ${whole(pair.readMl)} mL` : `${whole(pair.readMl)} mL`;
  const beside =
    pair.besideMl.length > 0
      ? ` (beside it ${pair.besideMl.map((one) => `${whole(one)} mL`).join(', ')})`
      : '';
  if (pair.readMuchDrainedLittle) {
    return `Read ${read}${beside}, drained ${whole(pair.drainedMl)} mL. Check that the catheter lies in the bladder and drains. Then do not drain again on this number alone: examine, and ask for imaging.`;
  }
  if (!pair.differencePercent)
    return `Read ${read}${beside}, drained ${whole(pair.drainedMl)} mL: too little drained to compare.`;
  const { low, high } = pair.differencePercent;
  const [near, far] = [Math.min(Math.abs(low), Math.abs(high)), Math.max(Math.abs(low), Math.abs(high))].map(
    (one) => Math.round(one),
  );
  const filling = `filling of ${Math.round(pair.fillingMl.low)} to ${Math.round(pair.fillingMl.high)} mL allowed for`;
  const words =
    high < 0
      ? `it read ${near} to ${far} % low`
      : low > 0
        ? `it read ${near} to ${far} % high`
        : 'they agree within the filling between them';
  return `Read ${read}${beside}, drained ${whole(pair.drainedMl)} mL, ${Math.round(pair.apartMin)} min apart, ${filling}: ${words}. One pair is not a pattern.`;
}

/** The first volume known to be over, and for how long it was so by plain sum. Since when: `lookBackSentence`. */
export function lateDetectionSentence(late: LateDetection, zone: string): string {
  const over = late.overMin
    ? ` By one straight line it was over for about ${Math.round(late.overMin.likely)} min (${Math.floor(late.overMin.low)} to ${Math.floor(late.overMin.high)}).`
    : '';
  return `Late detection: the first volume known to be over the limit of ${whole(late.limitMl)} mL was ${whole(late.volumeMl)} mL at ${clock(late.atMs, zone)}.${over}`;
}

/** What is known of the last emptying: `16:10, drained 690 mL`. */
export function emptiedWords(
  facts: PatientFacts,
  zone: string,
): { readonly time: string; readonly how: string } {
  const last = facts.lastEmptied;
  if (!last) return { time: '', how: 'not known' };
  const volume = last.volumeMl === undefined ? '' : ` ${whole(last.volumeMl)} mL`;
  const how =
    last.how === 'drained'
      ? `drained${volume || ', not measured'}`
      : last.how === 'passed'
        ? last.measured
          ? `passed${volume}`
          : 'passed, not measured'
        : `passed${volume}, as told`;
  return { time: clockOrDay(last.atMs, facts.nowMs, zone), how };
}

export { volumeWords };
