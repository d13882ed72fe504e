import { controlIsOn } from '../quantity/index.ts';
import type { PatientFacts } from '../facts/index.ts';

export interface CautionSentence {
  readonly sentence: string;
  /** Row of the clinical reference. */
  readonly sourceId: string;
  /** Act now, before anything else. */
  readonly urgent: boolean;
}

/** From here on a drain is large: the lower end of 750 to 1000 mL (S-clinical-G13). */
const largeDrainMl = 750;

/** The line that stands on every screen and every print. */
export const standingCaution =
  'Advises; the clinician decides. Local protocol, scope of practice and prescriber orders come first.';

/** The cautions that apply to this patient now, most urgent first. Not all at once: only what applies. */
export function cautionsFor(facts: PatientFacts): readonly CautionSentence[] {
  const found: CautionSentence[] = [];
  const add = (sentence: string, sourceId: string, urgent = false): void => {
    found.push({ sentence, sourceId, urgent });
  };
  const flags = facts.redFlags.map((one) => one.flag);
  const t6 = facts.cautions.includes('injury-at-or-above-t6');
  if (controlIsOn('H10-flags')) {
    if (flags.includes('dysreflexia-signs'))
      add(
        'Signs of autonomic dysreflexia: call for help, sit up, loosen clothing, check bladder and catheter first.',
        'S-clinical-Q6',
        true,
      );
    if (flags.includes('new-leg-weakness'))
      add(
        'New leg weakness or saddle numbness: emergency spinal assessment. A low residual does not rule it out.',
        'S-clinical-Q5',
        true,
      );
    if (flags.includes('clots-or-blocked'))
      add(
        'Clots, or a catheter that does not drain: urgent help. Do not force or flush beyond your training.',
        'S-clinical-Q7',
        true,
      );
    if (flags.includes('fever-or-rigors'))
      add(
        'Fever or rigors: think of sepsis. Retention with infection is an emergency.',
        'S-clinical-Q8',
        true,
      );
    if (facts.discomfort) add('In discomfort: assess now, whatever the number says.', 'S-clinical-Q4', true);
  }
  if (t6 && !flags.includes('dysreflexia-signs'))
    add(
      'Spinal injury at T6 or above: headache, sweating, flushing or a rise of more than 20 mmHg over the usual pressure is an emergency.',
      'S-clinical-Q6',
    );
  if (
    !facts.discomfort &&
    (facts.context['regional-block']?.state === 'present' ||
      facts.watch.setting === 'after-birth' ||
      facts.watch.setting === 'spinal-cord')
  ) {
    add('No pain does not mean empty: sensation may be dulled.', 'S-clinical-Q4');
  }
  const unreliable = (
    [
      'ascites',
      'pregnancy',
      'pelvic-mass',
      'peritoneal-dialysis',
      'prolapse',
      'neobladder',
      'recent-urethral-or-bladder-surgery',
    ] as const
  ).filter((one) => facts.cautions.includes(one));
  if (unreliable.length > 0 || facts.catheter.inPlace)
    add('Readings are less reliable here; say so when you pass one on.', 'S-clinical-Q11');
  if (facts.cautions.includes('recent-urethral-or-bladder-surgery') || facts.cautions.includes('stricture'))
    add('No catheter without specialist advice.', 'S-clinical-Q14', true);
  if (
    facts.watch.setting === 'child' ||
    facts.cautions.includes('pregnancy') ||
    facts.cautions.includes('neobladder')
  )
    add('Adult limits do not apply; use the limit set for this person.', 'S-clinical-Q12');
  if (facts.drains.some((one) => (one.volumeMl ?? 0) >= largeDrainMl))
    add(
      'A large volume was drained: watch hourly output, blood pressure and electrolytes.',
      'S-clinical-Q10',
    );
  if (facts.catheter.inPlace)
    add(
      'A catheter is a harm of its own: record the reason, review it daily, take it out early.',
      'S-clinical-Q13',
    );
  if (facts.pairs.some((one) => one.readMuchDrainedLittle))
    add(
      'A reading here was far more than what drained: do not drain again on a number alone.',
      'S-clinical-L2',
      true,
    );
  if (facts.pairs.length > 0 && !facts.pairs.some((one) => one.readMuchDrainedLittle))
    add('One pair of reading and drained volume is not a pattern.', 'S-clinical-J12');
  if (facts.watch.state === 'none')
    add('Not enough to advise: that is not the same as normal.', 'S-clinical-Q15');
  return found.sort((a, b) => Number(b.urgent) - Number(a.urgent));
}
