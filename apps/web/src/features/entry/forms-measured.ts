/** Forms for what was measured, passed, drained, given, and for the catheter. */
import type { PatientFacts } from '@ebbline/core/facts';
import { note, type Field, type FormSpec } from './form-spec.ts';
import * as words from './key-words.ts';
import { optionsOf } from './key-words.ts';

const colour: Field = {
  type: 'choice',
  name: 'colour',
  label: 'Colour',
  options: optionsOf(words.colourWords),
  later: true,
};
const catheterIn = (facts: PatientFacts): string | undefined =>
  facts.catheter.inPlace ? undefined : 'No catheter is recorded here. Record that one was placed first.';

export const measuredForms: readonly FormSpec[] = [
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
];
