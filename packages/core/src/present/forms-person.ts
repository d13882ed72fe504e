/** Forms for the person, for calls and steps, and for the watch itself. */
import { note, type FormSpec } from './form-spec.ts';
import * as words from './form-words.ts';
import { optionsOf } from './form-words.ts';

export const personForms: readonly FormSpec[] = [
  {
    id: 'symptom',
    kind: 'symptom',
    title: 'How it feels',
    save: 'Save',
    fields: [
      {
        type: 'choice',
        name: 'symptom',
        label: 'What is felt or seen',
        options: optionsOf(words.symptomWords),
        needed: true,
      },
      {
        type: 'choice',
        name: 'severity',
        label: 'How bad',
        options: [
          ['1', 'A little'],
          ['2', 'Bad'],
          ['3', 'Very bad'],
        ],
      },
      note,
    ],
  },
  {
    id: 'red-flag',
    kind: 'red-flag',
    title: 'Danger sign',
    save: 'Save the danger sign',
    fields: [
      {
        type: 'choice',
        name: 'flag',
        label: 'What is found',
        options: optionsOf(words.redFlagWords),
        needed: true,
      },
      note,
    ],
  },
  {
    id: 'caution',
    kind: 'caution',
    title: 'Caution',
    save: 'Save the caution',
    fields: [
      {
        type: 'choice',
        name: 'caution',
        label: 'What has to be kept in mind',
        options: optionsOf(words.cautionWords),
        needed: true,
      },
      {
        type: 'yes-no',
        name: 'present',
        label: 'Does it apply?',
        yes: 'Applies',
        no: 'Does not apply',
        needed: true,
      },
      note,
    ],
  },
  {
    id: 'consent',
    kind: 'consent',
    title: 'Agrees or declines',
    save: 'Save',
    fields: [
      { type: 'choice', name: 'to', label: 'To what?', options: optionsOf(words.consentWords), needed: true },
      {
        type: 'choice',
        name: 'answer',
        label: 'Answer',
        options: optionsOf(words.answerWords),
        needed: true,
      },
      {
        type: 'moment',
        name: 'offerAgainAt',
        label: 'Offer again',
        offersMin: [60, 120, 240],
        onlyIf: ['answer', 'declined'],
      },
      note,
    ],
  },
  {
    id: 'limit',
    kind: 'context',
    title: 'Own capacity and limit',
    save: 'Save the limit',
    pad: 'value',
    fields: [
      {
        type: 'choice',
        name: 'topic',
        label: 'What is it?',
        options: [
          ['own-capacity-ml', 'Own capacity, measured'],
          ['limit-ml', 'Limit for this person'],
        ],
        needed: true,
      },
      { type: 'number', name: 'value', label: 'Volume', unit: 'mL', needed: true },
      {
        type: 'choice',
        name: 'limitSource',
        label: 'Where it comes from',
        options: [
          ['own-capacity', 'Own capacity'],
          ['unit', 'The unit’s rule'],
          ['prescriber', 'A prescriber'],
        ],
        onlyIf: ['topic', 'limit-ml'],
        needed: true,
      },
      note,
    ],
  },
  {
    id: 'drug',
    kind: 'context',
    title: 'Drugs, block, dialysis',
    save: 'Save',
    fields: [
      {
        type: 'choice',
        name: 'topic',
        label: 'What is it?',
        options: optionsOf(words.drugTopicWords),
        needed: true,
      },
      {
        type: 'choice',
        name: 'state',
        label: 'How does it stand?',
        options: optionsOf(words.drugStateWords),
        needed: true,
      },
      {
        type: 'choice',
        name: 'route',
        label: 'By which way',
        options: [
          ['iv', 'Into a vein'],
          ['oral', 'By mouth'],
        ],
        onlyIf: ['topic', 'loop-diuretic'],
        needed: true,
      },
      note,
    ],
  },
  {
    id: 'measure',
    kind: 'context',
    title: 'Weight and blood values',
    save: 'Save',
    fields: [
      {
        type: 'choice',
        name: 'topic',
        label: 'What is it?',
        options: optionsOf(words.measureTopicWords),
        needed: true,
      },
      { type: 'text', name: 'value', label: 'Value', longest: 8, needed: true },
      note,
    ],
  },
  {
    id: 'told',
    kind: 'told',
    title: 'Somebody was told',
    save: 'Save',
    fields: [
      {
        type: 'text',
        name: 'who',
        label: 'Who was told',
        longest: 80,
        offers: ['The patient', 'The family', 'Charge nurse'],
        needed: true,
      },
      {
        type: 'text',
        name: 'what',
        label: 'What was said',
        longest: 400,
        offers: ['Call when you feel the urge', 'The next look and why'],
        needed: true,
      },
    ],
  },
  {
    id: 'call-made',
    kind: 'call-made',
    title: 'Call someone',
    save: 'Save: call made',
    fields: [
      {
        type: 'choice',
        name: 'toRole',
        label: 'Who is called',
        options: optionsOf(words.roleWords),
        needed: true,
      },
      { type: 'text', name: 'to', label: 'Their name', longest: 80, needed: true },
      {
        type: 'text',
        name: 'ask',
        label: 'What you ask for',
        longest: 400,
        offers: ['Please come and examine', 'Please advise on draining', 'Please set a plan for the night'],
        needed: true,
      },
    ],
  },
  {
    id: 'call-answered',
    kind: 'call-answered',
    title: 'Call answered',
    save: 'Save the answer',
    notNow: (facts) => (facts.calls.length > 0 ? undefined : 'No call is waiting for an answer here.'),
    fields: [
      { type: 'text', name: 'by', label: 'Who answered', longest: 80, needed: true },
      { type: 'text', name: 'order', label: 'What was said', longest: 400, needed: true },
      {
        type: 'yes-no',
        name: 'readBack',
        label: 'Read back to them?',
        yes: 'Read back',
        no: 'Not read back',
        needed: true,
      },
    ],
  },
  {
    id: 'watch-opened',
    kind: 'watch-opened',
    title: 'Start a watch',
    save: 'Start the watch',
    notNow: (facts) =>
      facts.watch.state === 'open' || facts.watch.state === 'paused'
        ? 'A watch is already open here.'
        : undefined,
    fields: [
      {
        type: 'choice',
        name: 'setting',
        label: 'What for?',
        options: optionsOf(words.settingWords),
        needed: true,
      },
      {
        type: 'text',
        name: 'reason',
        label: 'Why this person?',
        longest: 200,
        offers: ['Has not passed urine', 'Small amounts only', 'Spinal block', 'Catheter just out'],
        needed: true,
      },
      { type: 'moment', name: 'lastVoidAt', label: 'Last passed', offersMin: [-60, -120, -240, -360] },
      { type: 'number', name: 'lastVoidMl', label: 'How much then', unit: 'mL' },
      { type: 'number', name: 'limitMl', label: 'Limit for this person, if not the unit’s', unit: 'mL' },
      note,
    ],
  },
  {
    id: 'watch-paused',
    kind: 'watch-paused',
    title: 'Pause the watch',
    save: 'Pause the watch',
    notNow: (facts) => (facts.watch.state === 'open' ? undefined : 'Only an open watch can be paused.'),
    fields: [
      {
        type: 'choice',
        name: 'reason',
        label: 'Where to',
        options: optionsOf(words.pauseWords),
        needed: true,
      },
      {
        type: 'moment',
        name: 'backBy',
        label: 'Back at the latest by',
        offersMin: [30, 60, 120, 240],
        needed: true,
      },
      note,
    ],
  },
  {
    id: 'watch-resumed',
    kind: 'watch-resumed',
    title: 'Back again',
    save: 'Resume the watch',
    notNow: (facts) => (facts.watch.state === 'paused' ? undefined : 'The watch is not paused.'),
    fields: [note],
  },
  {
    id: 'watch-closed',
    kind: 'watch-closed',
    title: 'End the watch',
    save: 'End the watch',
    notNow: (facts) =>
      facts.watch.state === 'open' || facts.watch.state === 'paused' ? undefined : 'No watch is open here.',
    fields: [
      {
        type: 'choice',
        name: 'outcome',
        label: 'How it ends',
        options: optionsOf(words.outcomeWords),
        needed: true,
      },
      { type: 'number', name: 'residualMl', label: 'Residual at the end', unit: 'mL' },
      note,
    ],
  },
  {
    id: 'transferred',
    kind: 'transferred',
    title: 'Another ward or bed',
    save: 'Save the move',
    fields: [
      { type: 'choice', name: 'ward', label: 'To which ward', options: [], needed: true },
      { type: 'text', name: 'bed', label: 'Bed', longest: 20, needed: true },
      {
        type: 'choice',
        name: 'reason',
        label: 'Why',
        options: [
          ['transfer', 'Transfer'],
          ['bed-change', 'Another bed'],
          ['from-recovery', 'From recovery'],
          ['from-birth-suite', 'From the birth suite'],
        ],
      },
      note,
    ],
  },
  {
    id: 'step-answered',
    kind: 'step-answered',
    title: 'Other step, and why',
    save: 'Save what is done instead',
    notNow: (facts) =>
      facts.timeline.some((one) => one.entry.kind === 'step-advised' && one.standing.state === 'live')
        ? undefined
        : 'No step is advised here.',
    fields: [
      {
        type: 'text',
        name: 'instead',
        label: 'What is done instead',
        longest: 200,
        offers: ['Look again sooner', 'Wait and help to pass', 'Ask the doctor first'],
        needed: true,
      },
      {
        type: 'text',
        name: 'reason',
        label: 'Why',
        longest: 300,
        offers: ['Comfortable and has just passed', 'Asleep and agreed with', 'Against their wish'],
        needed: true,
      },
      { type: 'moment', name: 'nextLookAt', label: 'Next look', offersMin: [30, 60, 120] },
    ],
  },
];
