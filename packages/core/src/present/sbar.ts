/** Situation, background, assessment, request: the whole of it, as the handover sheet prints it. */
import { minuteMs } from '../quantity/index.ts';
import type { Directory } from '../record/index.ts';
import type { DueItem, OpenOffer, Owner, PatientFacts, WardFacts } from '../facts/index.ts';
import { cautionsFor } from './cautions.ts';
import * as labels from './labels.ts';
import { ageWords } from './board.ts';
import {
  emptiedWords,
  forecastSentence,
  hasEstimate,
  lateDetectionSentence,
  nextStepSentence,
  pairSentence,
} from './sentences.ts';
import { aboutMl, clockOrDay, duration, ownerWords, volumeWords, whole } from './words.ts';

export interface Sbar {
  readonly situation: string;
  readonly background: string;
  readonly assessment: string;
  readonly request: string;
}

/** What is asked for one open item, by when. The assessment has said when the limit may be reached; it is not said twice. */
export function requestSentence(item: DueItem, facts: PatientFacts, zone: string): string {
  const late = item.overdue ? `Overdue by ${duration(item.overdueMin)}: ` : '';
  return item.step === 'look-again' && item.kind === 'look'
    ? `${late}Look again by ${clockOrDay(item.dueAtMs, facts.nowMs, zone)}.`
    : `${late}${nextStepSentence(item, facts, zone)}`;
}

export function sbarOf(facts: PatientFacts, zone: string, _directory?: Directory): Sbar {
  const at = (ms: number): string => clockOrDay(ms, facts.nowMs, zone);
  const situation: string[] = [];
  const emptied = emptiedWords(facts, zone);
  situation.push(
    facts.lastEmptied
      ? `Last: ${emptied.how} at ${emptied.time}.`
      : 'When the bladder was last emptied is not known.',
  );
  const last = facts.readings.at(-1);
  if (last)
    situation.push(
      `Last reading ${volumeWords(last)} at ${at(last.atMs)}${last.trust === 'good' ? '' : ` (${last.doubts.map((one) => labels.doubts[one].toLowerCase()).join(', ') || 'not to be relied on'})`}.`,
    );
  if (facts.discomfort) situation.push('In discomfort.');
  for (const flag of facts.redFlags.slice(-2)) situation.push(`${labels.redFlags[flag.flag]}.`);
  for (const topic of facts.declined)
    situation.push(topic === 'catheter' ? 'Declines a catheter.' : 'Declines the look.');
  if (facts.totals.unmeasuredVoids > 0)
    situation.push(
      `${facts.totals.unmeasuredVoids} void${facts.totals.unmeasuredVoids === 1 ? '' : 's'} not measured.`,
    );

  const background: string[] = [];
  if (facts.watch.setting)
    background.push(`${labels.settings[facts.watch.setting]}: ${facts.watch.reason ?? ''}.`);
  if (facts.watch.openedAtMs !== undefined) background.push(`Watched since ${at(facts.watch.openedAtMs)}.`);
  const inOuts = facts.drains.filter((one) => one.route === 'in-out').length;
  background.push(
    `In-outs so far: ${inOuts}${
      inOuts > 0
        ? ` (${facts.drains
            .filter((one) => one.route === 'in-out')
            .map((one) => (one.volumeMl === undefined ? 'not measured' : `${whole(one.volumeMl)} mL`))
            .join(', ')})`
        : ''
    }.`,
  );
  if (facts.cautions.length > 0)
    background.push(`${facts.cautions.map((one) => labels.cautions[one]).join('; ')}.`);
  const drugs = ['loop-diuretic', 'opioid', 'anticholinergic', 'regional-block', 'anticoagulant'].filter(
    (topic) =>
      facts.context[topic] !== undefined &&
      facts.context[topic]?.state !== 'worn-off' &&
      facts.context[topic]?.state !== 'stopped',
  );
  if (drugs.length > 0) background.push(`On: ${drugs.map((one) => one.replaceAll('-', ' ')).join(', ')}.`);
  for (const late of facts.lateDetections) background.push(lateDetectionSentence(late, zone));

  const assessment: string[] = [];
  if (facts.catheter.inPlace)
    assessment.push(
      `Catheter day ${facts.catheter.catheterDays}${facts.catheter.reason ? `, for ${(labels.catheterReasons[facts.catheter.reason] ?? facts.catheter.reason).toLowerCase()}` : ''}.`,
    );
  if (hasEstimate(facts) && !facts.catheter.inPlace && facts.estimate.informativeEntries > 0) {
    const { p05Ml, p50Ml, p95Ml } = facts.estimate.content;
    assessment.push(
      `Holds about ${aboutMl(p50Ml)} mL now (${aboutMl(p05Ml)} to ${aboutMl(p95Ml)} mL, estimated); limit ${whole(facts.limitMl)} mL.`,
    );
  }
  assessment.push(forecastSentence(facts, zone));
  const pair = facts.pairs.at(-1);
  if (pair) assessment.push(pairSentence(pair));

  const request = facts.due.map((item) => requestSentence(item, facts, zone));
  if (request.length === 0) request.push('Nothing is due.');
  return {
    situation: situation.join(' '),
    background: background.join(' '),
    assessment: assessment.join(' '),
    request: request.join(' '),
  };
}

export interface HandoverEntry {
  readonly patient: string;
  readonly bed: string;
  readonly who: string;
  readonly due: string;
  readonly sbar: Sbar;
  readonly owner: Owner;
  readonly ownerShown: string;
  readonly items: readonly DueItem[];
  readonly offers: readonly OpenOffer[];
  /** Items that can't be handed over in silence, in words. */
  readonly mustName: readonly string[];
  readonly cautions: readonly string[];
}

export interface HandoverSheet {
  readonly ward: string;
  readonly wardName: string;
  readonly atMs: number;
  readonly entries: readonly HandoverEntry[];
  /** Every open item of the ward is on the sheet: the two counts are equal or the sheet is not to be used. */
  readonly itemsOnSheet: number;
  readonly itemsInRecord: number;
}

export function handoverEntryOf(facts: PatientFacts, zone: string, directory?: Directory): HandoverEntry {
  const first = facts.due[0];
  const name = facts.initials || 'no name yet';
  return {
    patient: facts.patient,
    bed: facts.bed,
    who: [
      name,
      ageWords(facts, zone),
      facts.identity?.sex === 'female' ? 'F' : facts.identity?.sex === 'male' ? 'M' : '',
    ]
      .filter((one) => one !== '')
      .join(', '),
    due: first
      ? `${clockOrDay(first.dueAtMs, facts.nowMs, zone)} ${labels.dueKinds[first.kind].toLowerCase()}`
      : 'nothing due',
    sbar: sbarOf(facts, zone, directory),
    owner: facts.owner,
    ownerShown: ownerWords(facts.owner, directory),
    items: facts.due,
    offers: facts.offers,
    mustName: facts.due
      .filter((one) => one.overdue || one.kind === 'call-reply')
      .map((one) =>
        one.kind === 'call-reply'
          ? `an open call, answer due ${clockOrDay(one.dueAtMs, facts.nowMs, zone)}`
          : `${labels.steps[one.step].toLowerCase()}, overdue since ${clockOrDay(one.dueAtMs, facts.nowMs, zone)} (${duration((facts.nowMs - one.dueAtMs) / minuteMs)})`,
      ),
    cautions: cautionsFor(facts).map((one) => one.sentence),
  };
}

export function handoverSheetOf(ward: WardFacts, zone: string, directory?: Directory): HandoverSheet {
  const entries = ward.patients.map((one) => handoverEntryOf(one, zone, directory));
  return {
    ward: ward.ward,
    wardName: directory?.wards.find((one) => one.id === ward.ward)?.name ?? ward.ward,
    atMs: ward.nowMs,
    entries,
    itemsOnSheet: entries.reduce((sum, one) => sum + one.items.length, 0),
    itemsInRecord: ward.patients.reduce((sum, one) => sum + one.due.length, 0),
  };
}
