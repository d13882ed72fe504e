// Every `list.word` code that the writers of this folder may use.
import {
  catheterReasons,
  cautions,
  colours,
  consentTopics,
  contextTopics,
  doubts,
  notObtainedReasons,
  pauseReasons,
  positions,
  readingMethods,
  redFlags,
  removalReasons,
  roles,
  settings,
  steps,
  symptoms,
  voidKinds,
  watchOutcomes,
} from '@ebbline/core/record';
import { plain } from './words.ts';

const lists: Readonly<Record<string, readonly string[]>> = {
  setting: settings,
  doubt: doubts,
  position: positions,
  'reading-method': readingMethods,
  'not-obtained': notObtainedReasons,
  void: voidKinds,
  size: ['small', 'medium', 'large'],
  colour: colours,
  symptom: symptoms,
  context: contextTopics,
  'catheter-reason': catheterReasons,
  'catheter-removal': removalReasons,
  'catheter-status': [
    'draining',
    'blocked',
    'flushed',
    'clamped',
    'unclamped',
    'irrigation-running',
    'irrigation-stopped',
  ],
  caution: cautions,
  'red-flag': redFlags,
  step: steps,
  role: roles,
  due: [
    'look',
    'residual',
    'step',
    'call-reply',
    'catheter-review',
    'catheter-removal',
    'return',
    'consent-again',
  ],
  'step-answered': ['taken', 'departed'],
  consent: consentTopics.flatMap((topic) =>
    ['given', 'declined', 'cannot-consent'].map((answer) => `${topic}.${answer}`),
  ),
  watch: [
    'resumed',
    ...pauseReasons.map((one) => `paused.${one}`),
    ...watchOutcomes.map((one) => `closed.${one}`),
  ],
};

export function words(): readonly { readonly code: string; readonly display: string }[] {
  return Object.entries(lists).flatMap(([list, all]) =>
    all.map((word) => ({ code: `${list}.${word}`, display: plain(word.replaceAll('.', '-')) })),
  );
}
