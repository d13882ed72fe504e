/**
 * What to say in a call: the same four parts as the handover's, cut to what the one who is called needs first. The
 * whole stands under it for when they ask.
 *
 * Budget   read aloud in 30 s at the rate below
 */
import {
  aboutMl,
  clockOrDay,
  emptiedWords,
  forecastSentence,
  hasEstimate,
  labels,
  ageWords,
  theirs,
  volumeWords,
  whole,
  type Sbar,
} from '@ebbline/core/present';
import type { PatientFacts } from '@ebbline/core/facts';

/** A slow, clear voice on the telephone. */
export const wordsAMinute = 170; // S-patient-speaking-rate

export function secondsAloud(sbar: Sbar): number {
  const words = Object.values(sbar as unknown as Record<string, string>)
    .join(' ')
    .split(/\s+/).length;
  return Math.round((words / wordsAMinute) * 60);
}

const sexWords: Readonly<Record<string, string>> = { female: 'woman', male: 'man' };
const mostCautions = 3; // S-patient-speaking-rate: more can't be taken in by ear

export function telephoneOf(facts: PatientFacts, zone: string): Sbar {
  const at = (atMs: number): string => clockOrDay(atMs, facts.nowMs, zone);
  const age = ageWords(facts, zone);
  const last = facts.readings.at(-1);
  const item = facts.due.find((one) => one.overdue) ?? facts.due[0];
  const flags = facts.redFlags.slice(-2).map((one) => `${labels.redFlags[one.flag]}.`);
  const situation = [
    `Bed ${facts.bed}${age === '' ? '' : `, ${age}-year-old ${sexWords[facts.identity?.sex ?? ''] ?? 'patient'}`}.`,
    ...flags,
    facts.discomfort ? 'In discomfort.' : '',
    last
      ? `Last reading ${volumeWords(last)} at ${at(last.atMs)}${last.trust === 'good' || last.volumeMl === undefined ? '' : ', in doubt'}.`
      : 'No reading yet.',
  ];
  const emptied = emptiedWords(facts, zone);
  const inOuts = facts.drains.filter((one) => one.route === 'in-out').length;
  const background = [
    facts.watch.setting === undefined
      ? ''
      : `${labels.settings[facts.watch.setting]}${facts.watch.reason === undefined ? '' : `: ${facts.watch.reason}`}.`,
    facts.lastEmptied ? `Last emptied at ${emptied.time}: ${emptied.how}.` : 'Last emptying not known.',
    inOuts > 0 ? `In-outs: ${inOuts}.` : '',
    facts.cautions.length > 0
      ? `${facts.cautions
          .slice(0, mostCautions)
          .map((one) => labels.cautions[one])
          .join(', ')}.`
      : '',
    ...facts.declined.map((one) => (one === 'catheter' ? 'Declines a catheter.' : 'Declines the look.')),
  ];
  const assessment: string[] = [];
  if (facts.catheter.inPlace)
    assessment.push(
      `Catheter day ${facts.catheter.catheterDays}${facts.catheter.status === undefined ? '' : `, ${facts.catheter.status.replaceAll('-', ' ')}`}.`,
    );
  else if (hasEstimate(facts) && facts.estimate.informativeEntries > 0) {
    const { earliestAtMs, alreadyOver } = facts.estimate.crossing;
    assessment.push(
      `Holds about ${aboutMl(facts.estimate.content.p50Ml)} mL by estimate; ${theirs(facts)} limit is ${whole(facts.limitMl)} mL.`,
    );
    if (alreadyOver) assessment.push('Probably over it already.');
    else if (earliestAtMs !== undefined)
      assessment.push(
        earliestAtMs <= facts.nowMs
          ? 'It could be over already.'
          : `It could be reached from ${at(earliestAtMs)} on.`,
      );
  } else assessment.push(forecastSentence(facts, zone));
  if (facts.pairs.some((one) => one.readMuchDrainedLittle))
    assessment.push('A reading here was far more than what drained.');
  const call = facts.calls.at(-1);
  const step = item
    ? `${item.kind === 'look' || item.kind === 'step' || item.kind === 'residual' ? labels.steps[item.step] : labels.dueKinds[item.kind]}, by ${at(item.dueAtMs)}`
    : undefined;
  const says =
    item?.row === undefined
      ? 'Due next'
      : item.row.approved
        ? 'The unit’s protocol says'
        : 'The example protocol says';
  const request = [
    call ? `${call.ask.replace(/\.$/, '')}.` : '',
    step === undefined
      ? 'Nothing is due by the protocol.'
      : `${says}: ${step.charAt(0).toLowerCase()}${step.slice(1)}.`,
    'What do you want done?',
  ];
  const said = (parts: readonly string[]): string => parts.filter((part) => part !== '').join(' ');
  return {
    situation: said(situation),
    background: said(background),
    assessment: said(assessment),
    request: said(request),
  };
}
