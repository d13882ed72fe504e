/**
 * Every form of the bedside as data: which kind of entry it writes, what it asks, and what stands on the keys.
 * One view draws them all; the reading, the void and the drain add their number pad.
 */
import type { PatientFacts } from '@ebbline/core/facts';
import type { EntryKind } from '@ebbline/core/record';
import * as words from './key-words.ts';
import { optionsOf, type Options } from './key-words.ts';

export type Field =
  | {
      readonly type: 'choice';
      readonly name: string;
      readonly label: string;
      readonly options: Options;
      readonly needed?: boolean;
      readonly later?: boolean;
      readonly onlyIf?: readonly [name: string, value: string];
    }
  | {
      readonly type: 'yes-no';
      readonly name: string;
      readonly label: string;
      readonly yes: string;
      readonly no: string;
      readonly needed?: boolean;
      readonly later?: boolean;
      readonly onlyIf?: readonly [string, string];
    }
  | {
      readonly type: 'many';
      readonly name: string;
      readonly label: string;
      readonly options: Options;
      readonly shown: number;
      readonly later?: boolean;
      readonly needed?: false;
      readonly onlyIf?: readonly [string, string];
    }
  | {
      readonly type: 'number';
      readonly name: string;
      readonly label: string;
      readonly unit: string;
      readonly needed?: boolean;
      readonly later?: boolean;
      readonly onlyIf?: readonly [string, string];
    }
  | {
      readonly type: 'text';
      readonly name: string;
      readonly label: string;
      readonly longest: number;
      readonly offers?: readonly string[];
      readonly needed?: boolean;
      readonly later?: boolean;
      readonly onlyIf?: readonly [string, string];
    }
  | {
      readonly type: 'moment';
      readonly name: string;
      readonly label: string;
      /** Minutes from now; negative lies in the past. */
      readonly offersMin: readonly number[];
      readonly needed?: boolean;
      readonly later?: boolean;
      readonly onlyIf?: readonly [string, string];
    };

export interface FormSpec {
  readonly id: string;
  readonly kind: EntryKind;
  readonly title: string;
  /** What the main key says when nothing more can be said. */
  readonly save: string;
  readonly fields: readonly Field[];
  /** The number field that the pad types into first. */
  readonly pad?: string;
  /** Values remembered from one entry to the next on this tablet. */
  readonly remembers?: readonly string[];
  /** Whether it can be recorded now; a sentence when not. */
  readonly notNow?: (facts: PatientFacts) => string | undefined;
}

const note: Field = { type: 'text', name: 'note', label: 'Anything to add', longest: 600, later: true };
const colour: Field = {
  type: 'choice',
  name: 'colour',
  label: 'Colour',
  options: optionsOf(words.colourWords),
  later: true,
};
const catheterIn = (facts: PatientFacts): string | undefined =>
  facts.catheter.inPlace ? undefined : 'No catheter is recorded here. Record that one was placed first.';

export const forms: readonly FormSpec[] = [
  {
    id: 'reading',
    kind: 'reading',
    title: 'Reading',
    save: 'Save',
    pad: 'volumeMl',
    remembers: ['scanner'],
    fields: [
      { type: 'number', name: 'volumeMl', label: 'Reading', unit: 'mL' },
      {
        type: 'choice',
        name: 'relation',
        label: 'Before or after a void?',
        options: optionsOf(words.relationWords),
        needed: true,
      },
      {
        type: 'choice',
        name: 'reasonNotObtained',
        label: 'Why is there no reading?',
        options: optionsOf(words.notObtainedWords),
        onlyIf: ['notObtained', 'yes'],
        needed: true,
      },
      {
        type: 'many',
        name: 'doubts',
        label: 'Anything that makes you doubt it?',
        options: optionsOf(words.doubtWords),
        shown: 6,
      },
      {
        type: 'choice',
        name: 'position',
        label: 'Position',
        options: optionsOf(words.positionWords),
        later: true,
      },
      note,
    ],
  },
  {
    id: 'void',
    kind: 'void',
    title: 'Passed',
    save: 'Save',
    pad: 'volumeMl',
    fields: [
      { type: 'number', name: 'volumeMl', label: 'Passed', unit: 'mL' },
      { type: 'choice', name: 'how', label: 'How is it known?', options: optionsOf(words.voidWords) },
      {
        type: 'choice',
        name: 'size',
        label: 'About how much?',
        options: optionsOf(words.sizeWords),
        later: true,
      },
      {
        type: 'yes-no',
        name: 'urge',
        label: 'Urge before it',
        yes: 'Felt the urge',
        no: 'Felt nothing',
        later: true,
      },
      colour,
      note,
    ],
  },
  {
    id: 'drained',
    kind: 'drained',
    title: 'Drained',
    save: 'Save',
    pad: 'volumeMl',
    remembers: ['sizeCh'],
    fields: [
      { type: 'number', name: 'volumeMl', label: 'Drained', unit: 'mL' },
      {
        type: 'choice',
        name: 'route',
        label: 'How was it drained?',
        options: optionsOf(words.routeWords),
        needed: true,
      },
      {
        type: 'choice',
        name: 'sizeCh',
        label: 'Size, Ch',
        options: [
          ['10', '10'],
          ['12', '12'],
          ['14', '14'],
          ['16', '16'],
        ],
        later: true,
      },
      {
        type: 'choice',
        name: 'difficulty',
        label: 'How did it go?',
        options: optionsOf(words.difficultyWords),
        later: true,
      },
      {
        type: 'yes-no',
        name: 'trauma',
        label: 'Hurt or bleeding',
        yes: 'Yes, hurt or bleeding',
        no: 'No',
        later: true,
      },
      colour,
      note,
    ],
  },
  {
    id: 'catheter-placed',
    kind: 'catheter-placed',
    title: 'Catheter placed and left in',
    save: 'Save: catheter placed',
    notNow: (facts) =>
      facts.catheter.inPlace
        ? 'A catheter is already recorded as in place. Record its removal first, or correct that entry.'
        : undefined,
    fields: [
      {
        type: 'choice',
        name: 'route',
        label: 'Where',
        options: optionsOf(words.catheterRouteWords),
        needed: true,
      },
      {
        type: 'choice',
        name: 'reason',
        label: 'Why it stays in',
        options: optionsOf(words.catheterReasonWords),
        needed: true,
      },
      { type: 'moment', name: 'plannedRemovalAt', label: 'Planned removal', offersMin: [1440, 2880, 4320] },
      {
        type: 'choice',
        name: 'sizeCh',
        label: 'Size, Ch',
        options: [
          ['10', '10'],
          ['12', '12'],
          ['14', '14'],
          ['16', '16'],
          ['18', '18'],
        ],
      },
      note,
    ],
  },
  {
    id: 'catheter-removed',
    kind: 'catheter-removed',
    title: 'Catheter removed',
    save: 'Save: catheter removed',
    notNow: catheterIn,
    fields: [
      { type: 'choice', name: 'reason', label: 'Why', options: optionsOf(words.removalWords), needed: true },
      note,
    ],
  },
  {
    id: 'catheter-reviewed',
    kind: 'catheter-reviewed',
    title: 'Catheter reviewed',
    save: 'Save the review',
    notNow: catheterIn,
    fields: [
      {
        type: 'yes-no',
        name: 'keep',
        label: 'Is it still needed?',
        yes: 'Still needed',
        no: 'No longer needed',
        needed: true,
      },
      {
        type: 'choice',
        name: 'reason',
        label: 'Why it stays in',
        options: optionsOf(words.catheterReasonWords),
        onlyIf: ['keep', 'yes'],
      },
      {
        type: 'moment',
        name: 'plannedRemovalAt',
        label: 'Planned removal',
        offersMin: [720, 1440, 2880],
        onlyIf: ['keep', 'yes'],
      },
      note,
    ],
  },
  {
    id: 'catheter-status',
    kind: 'catheter-status',
    title: 'How the catheter is',
    save: 'Save',
    notNow: catheterIn,
    fields: [
      {
        type: 'choice',
        name: 'status',
        label: 'The catheter is',
        options: optionsOf(words.statusWords),
        needed: true,
      },
      note,
    ],
  },
  {
    id: 'bag-read',
    kind: 'bag-read',
    title: 'Bag read',
    save: 'Save the bag',
    pad: 'volumeMl',
    fields: [
      { type: 'number', name: 'volumeMl', label: 'In the bag', unit: 'mL', needed: true },
      {
        type: 'moment',
        name: 'sinceAt',
        label: 'Collected since',
        offersMin: [-60, -240, -480],
        needed: true,
      },
      {
        type: 'yes-no',
        name: 'emptied',
        label: 'Emptied?',
        yes: 'Emptied',
        no: 'Left as it is',
        needed: true,
      },
    ],
  },
  {
    id: 'intake',
    kind: 'intake',
    title: 'Drunk or given',
    save: 'Save',
    pad: 'volumeMl',
    fields: [
      { type: 'number', name: 'volumeMl', label: 'Taken in', unit: 'mL', needed: true },
      {
        type: 'choice',
        name: 'route',
        label: 'How',
        options: [
          ['oral', 'Drunk'],
          ['iv', 'Into a vein'],
        ],
        needed: true,
      },
      {
        type: 'choice',
        name: 'overMin',
        label: 'Over how long',
        options: [
          ['30', '30 min'],
          ['60', '1 hour'],
          ['240', '4 hours'],
          ['480', '8 hours'],
        ],
        onlyIf: ['route', 'iv'],
      },
    ],
  },
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
      { type: 'choice', name: 'to', label: 'To what', options: optionsOf(words.consentWords), needed: true },
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
    id: 'told',
    kind: 'told',
    title: 'Told',
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
      { type: 'text', name: 'to', label: 'Name', longest: 80, needed: true },
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
        label: 'What for',
        options: optionsOf(words.settingWords),
        needed: true,
      },
      { type: 'text', name: 'reason', label: 'Why this person', longest: 200, needed: true },
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

export function formOf(id: string): FormSpec | undefined {
  return forms.find((form) => form.id === id);
}
