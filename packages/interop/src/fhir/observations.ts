/**
 * Entries that say what was measured or seen, as Observations.
 *
 * Units     UCUM codes; volumes mL, pads g, diameters cm, times min
 * Errors    a reading that was not obtained carries dataAbsentReason and no value: never 0. A void that was not
 *           measured likewise. "At least" is FHIR's comparator.
 * Source    S-fhir-r4, S-fhir-code-table
 */
import type { Entry } from '@ebbline/core/record';
import type { TimelineEntry } from '@ebbline/core/facts';
import { instantMs } from '@ebbline/core/quantity';
import { concept, wordConcept, type CodeKey } from './codes.ts';
import { entryResourceId, practitioner, scannerMetric, when, type Making } from './making.ts';
import {
  quantity,
  rangeMl,
  reference,
  resource,
  type Reference,
  type Resource,
  type UnitCode,
} from './resource.ts';
import { plain } from './words.ts';

type Of<Kind extends Entry['kind']> = Extract<Entry, { kind: Kind }>;
type Members = Record<string, unknown>;

const absent = (code: 'error' | 'not-performed' | 'unknown', text: string): Members => {
  const display = { error: 'Error', 'not-performed': 'Not Performed', unknown: 'Unknown' }[code];
  return {
    dataAbsentReason: {
      coding: [{ system: 'http://terminology.hl7.org/CodeSystem/data-absent-reason', code, display }],
      text,
    },
  };
};

/** Entry standing → Observation.status. A correction keeps both: the new one is `corrected`, the old one stays, struck. */
function observationStatus(item: TimelineEntry): 'final' | 'corrected' | 'entered-in-error' {
  if (item.standing.state !== 'live') return 'entered-in-error';
  return item.entry.corrects === undefined && item.movedFrom === undefined ? 'final' : 'corrected';
}

export interface ObservationBasis {
  readonly making: Making;
  readonly item: TimelineEntry;
}

/** The members that every Observation shares, then its own. */
export function observation(
  { making, item }: ObservationBasis,
  code: CodeKey,
  members: Members,
  options: {
    readonly sinceMs?: number;
    readonly operator?: string;
    readonly category?: string;
    readonly text?: string;
  } = {},
): Resource {
  const { entry } = item;
  const atMs = instantMs(entry.effectiveAt);
  const category = options.category ?? 'exam';
  const display =
    {
      exam: 'Exam',
      'vital-signs': 'Vital Signs',
      survey: 'Survey',
      therapy: 'Therapy',
      procedure: 'Procedure',
    }[category] ?? category;
  return resource('Observation', entryResourceId(making, item), {
    identifier: [{ system: 'urn:ietf:rfc:3986', value: `urn:uuid:${entry.id}` }],
    status: observationStatus(item),
    category: [
      {
        coding: [
          { system: 'http://terminology.hl7.org/CodeSystem/observation-category', code: category, display },
        ],
      },
    ],
    code: concept(making.codes, code, options.text),
    subject: making.patient,
    encounter: making.encounter,
    ...(options.sinceMs === undefined || options.sinceMs >= atMs
      ? { effectiveDateTime: when(making, atMs) }
      : { effectivePeriod: { start: when(making, options.sinceMs), end: when(making, atMs) } }),
    issued: when(making, instantMs(entry.recordedAt)),
    performer: [practitioner(making, options.operator ?? entry.author)],
    ...members,
  });
}

const note = (...texts: readonly (string | undefined)[]): Members => {
  const kept = texts.filter((one): one is string => one !== undefined);
  return kept.length === 0 ? {} : { note: kept.map((text) => ({ text })) };
};
const timeNote = (entry: Entry): string | undefined =>
  entry.timeQuality === 'exact'
    ? undefined
    : entry.timeQuality === 'rounded'
      ? 'The time was rounded when it was charted.'
      : 'The time is not known, only that it was before it was charted.';

const component = (making: Making, code: CodeKey, value: Members): Members => ({
  code: concept(making.codes, code),
  ...value,
});
const measured = (
  making: Making,
  code: CodeKey,
  value: number | undefined,
  unit: UnitCode,
): readonly Members[] =>
  value === undefined ? [] : [component(making, code, { valueQuantity: quantity(value, unit) })];

/** Why nothing was obtained → the public reason. */
const absence = {
  'no-window': 'error',
  'none-seen': 'error',
  pain: 'not-performed',
  declined: 'not-performed',
  'scanner-missing': 'not-performed',
  other: 'unknown',
} as const;

function readingObservation(basis: ObservationBasis, entry: Of<'reading'>): Resource {
  const { making } = basis;
  const { payload } = entry;
  const fact = making.facts.readings.find((one) => one.id === entry.id);
  const residual = making.facts.residuals.find((one) => one.readingId === entry.id);
  const after = making.facts.timeline.find((one) => one.entry.id === residual?.voidId);
  const relation = payload.relation;
  const cm = (mm: number | undefined): number | undefined =>
    mm === undefined ? undefined : Math.round(mm * 10) / 100;
  const interval = rangeMl(
    fact?.intervalMl === undefined ? payload.lowMl : Math.round(fact.intervalMl.low),
    fact?.intervalMl === undefined ? payload.highMl : Math.round(fact.intervalMl.high),
  );
  const value =
    payload.result === 'not-obtained' || payload.volumeMl === undefined
      ? absent(
          absence[payload.reasonNotObtained ?? 'other'],
          `Not obtained: ${plain(payload.reasonNotObtained ?? 'other').toLowerCase()}`,
        )
      : { valueQuantity: quantity(payload.volumeMl, 'mL', payload.result === 'at-least') };
  const method =
    payload.method === undefined
      ? undefined
      : payload.method === 'calipers'
        ? concept(making.codes, 'by-calipers')
        : wordConcept('reading-method', payload.method, plain(payload.method));
  return observation(
    basis,
    relation === 'after-void' ? 'pvr-us' : 'bladder-volume-us',
    {
      ...value,
      ...note(
        payload.note,
        timeNote(entry),
        payload.coefficientSource === undefined
          ? undefined
          : `Coefficient from: ${payload.coefficientSource}`,
        fact === undefined ? undefined : `Trust: ${plain(fact.trust).toLowerCase()}.`,
      ),
      bodySite: concept(making.codes, 'bladder'),
      method,
      ...(payload.scanner === undefined ? {} : { device: scannerMetric(making, payload.scanner) }),
      ...(after === undefined
        ? {}
        : { derivedFrom: [reference('Observation', entryResourceId(making, after))] }),
      component: [
        component(making, 'void-relation', { valueCodeableConcept: concept(making.codes, relation) }),
        ...measured(
          making,
          'time-since-void',
          payload.sinceVoidMin ??
            (residual?.sinceVoidMin === undefined ? undefined : Math.round(residual.sinceVoidMin)),
          'min',
        ),
        ...payload.doubts.map((doubt) =>
          component(making, 'reading-quality', {
            valueCodeableConcept: wordConcept('doubt', doubt, plain(doubt)),
          }),
        ),
        ...(interval === undefined || payload.result !== 'exact'
          ? []
          : [component(making, 'volume-interval', { valueRange: interval })]),
        ...(payload.repeatsMl ?? []).map((one) =>
          component(making, 'repeat-volume', { valueQuantity: quantity(one, 'mL') }),
        ),
        ...measured(making, 'width', cm(payload.widthMm), 'cm'),
        ...measured(making, 'height', cm(payload.heightMm), 'cm'),
        ...measured(making, 'depth', cm(payload.depthMm), 'cm'),
        ...measured(making, 'volume-coefficient', payload.coefficient, '1'),
        ...(payload.position === undefined
          ? []
          : [
              component(making, 'position', {
                valueCodeableConcept: wordConcept('position', payload.position, plain(payload.position)),
              }),
            ]),
      ],
    },
    payload.operator === undefined ? {} : { operator: payload.operator },
  );
}

function voidObservation(basis: ObservationBasis, entry: Of<'void'>): Resource {
  const { making } = basis;
  const { payload } = entry;
  const isPad = payload.how === 'pad-weighed' && payload.padG !== undefined;
  const range = rangeMl(payload.lowMl, payload.highMl);
  const value = isPad
    ? { valueQuantity: quantity(payload.padG ?? 0, 'g') }
    : payload.volumeMl !== undefined
      ? { valueQuantity: quantity(payload.volumeMl, 'mL') }
      : range === undefined
        ? absent('not-performed', payload.how === 'lost' ? 'Lost, not measured' : 'Passed, not measured')
        : { valueRange: range };
  return observation(
    basis,
    isPad ? 'pad-weight-gain' : 'voided-volume',
    {
      ...value,
      method: wordConcept('void', payload.how, plain(payload.how)),
      ...note(
        payload.note,
        timeNote(entry),
        payload.how === 'mixed' ? 'Mixed with stool: reads high.' : undefined,
      ),
      component: [
        ...(payload.size === undefined
          ? []
          : [
              component(making, 'void-size', {
                valueCodeableConcept: wordConcept('size', payload.size, plain(payload.size)),
              }),
            ]),
        ...(payload.urge === undefined ? [] : [component(making, 'urge', { valueBoolean: payload.urge })]),
        ...(payload.colour === undefined
          ? []
          : [
              component(making, 'urine-colour', {
                valueCodeableConcept: wordConcept('colour', payload.colour, plain(payload.colour)),
              }),
            ]),
      ],
    },
    payload.sinceAt === undefined ? {} : { sinceMs: instantMs(payload.sinceAt) },
  );
}

export function drainedObservation(
  basis: ObservationBasis,
  entry: Of<'drained'>,
  partOf: Reference | undefined,
): Resource {
  const { making } = basis;
  const { payload } = entry;
  return observation(
    basis,
    payload.route === 'in-out' ? 'drained-in-out' : 'drained-indwelling',
    {
      ...(partOf === undefined ? {} : { partOf: [partOf] }),
      ...(payload.volumeMl === undefined
        ? absent('not-performed', 'Drained, volume not measured')
        : { valueQuantity: quantity(payload.volumeMl, 'mL') }),
      ...note(payload.note, timeNote(entry)),
      component:
        payload.colour === undefined
          ? []
          : [
              component(making, 'urine-colour', {
                valueCodeableConcept: wordConcept('colour', payload.colour, plain(payload.colour)),
              }),
            ],
    },
    payload.operator === undefined ? {} : { operator: payload.operator },
  );
}

const contextCodes: Readonly<Record<string, readonly [CodeKey, UnitCode]>> = {
  'weight-kg': ['body-weight', 'kg'],
  'own-capacity-ml': ['own-capacity', 'mL'],
  'limit-ml': ['limit', 'mL'],
  'creatinine-umol-per-l': ['creatinine', 'umol/L'],
  'potassium-mmol-per-l': ['potassium', 'mmol/L'],
  'usual-systolic-mmhg': ['usual-systolic', 'mm[Hg]'],
};

/** The Observation of one entry, or nothing when its kind is told in another resource. */
export function observationOf(basis: ObservationBasis): Resource | undefined {
  const { entry } = basis.item;
  const { making } = basis;
  switch (entry.kind) {
    case 'reading':
      return readingObservation(basis, entry);
    case 'void':
      return voidObservation(basis, entry);
    case 'bag-read':
      return observation(
        basis,
        'bag-volume',
        {
          valueQuantity: quantity(entry.payload.volumeMl, 'mL'),
          ...note(entry.payload.emptied ? 'Bag emptied.' : 'Bag not emptied.', timeNote(entry)),
        },
        { sinceMs: instantMs(entry.payload.sinceAt) },
      );
    case 'instilled':
      return observation(basis, 'instilled-volume', {
        valueQuantity: quantity(entry.payload.volumeMl, 'mL'),
        ...note(entry.payload.note, timeNote(entry)),
      });
    case 'protocol-moved':
      return observation(
        basis,
        'protocol-moved',
        {
          valueString: `${entry.payload.protocolId}, version ${entry.payload.protocolVersion}`,
          ...note(entry.payload.note),
        },
        { category: 'survey' },
      );
    case 'intake': {
      const atMs = instantMs(entry.effectiveAt);
      const overMin = entry.payload.overMin;
      const made = observation(basis, entry.payload.route === 'oral' ? 'intake-oral' : 'intake-iv', {
        valueQuantity: quantity(entry.payload.volumeMl, 'mL'),
        ...note(timeNote(entry)),
      });
      if (overMin === undefined) return made;
      const { effectiveDateTime: _, ...rest } = made;
      return resource('Observation', made.id, {
        ...rest,
        effectivePeriod: { start: when(making, atMs), end: when(making, atMs + overMin * 60_000) },
      });
    }
    case 'symptom':
      return observation(
        basis,
        'symptom',
        {
          valueCodeableConcept: wordConcept('symptom', entry.payload.symptom, plain(entry.payload.symptom)),
          ...note(entry.payload.note, timeNote(entry)),
          component:
            entry.payload.severity === undefined
              ? []
              : [component(making, 'symptom-severity', { valueInteger: entry.payload.severity })],
        },
        { category: 'survey' },
      );
    case 'context': {
      const { topic, value, state, route } = entry.payload;
      const coded = contextCodes[topic];
      if (coded !== undefined && value !== undefined) {
        return observation(
          basis,
          coded[0],
          {
            valueQuantity: quantity(value, coded[1]),
            ...note(
              entry.payload.limitSource === undefined
                ? undefined
                : `From: ${plain(entry.payload.limitSource).toLowerCase()}.`,
              entry.payload.note,
            ),
          },
          topic === 'weight-kg' ? { category: 'vital-signs' } : {},
        );
      }
      const words = [
        plain(topic),
        state === undefined ? undefined : plain(state).toLowerCase(),
        route === undefined ? undefined : plain(route).toLowerCase(),
      ]
        .filter((one) => one !== undefined)
        .join(', ');
      return observation(
        basis,
        'context',
        {
          valueCodeableConcept: wordConcept('context', topic, words),
          ...note(entry.payload.note, value === undefined ? undefined : `Value: ${value}.`),
        },
        { category: 'survey' },
      );
    }
    case 'catheter-status':
      return observation(basis, 'catheter-status', {
        valueCodeableConcept: wordConcept(
          'catheter-status',
          entry.payload.status,
          plain(entry.payload.status),
        ),
        ...note(entry.payload.note),
      });
    case 'catheter-reviewed':
      return observation(basis, 'catheter-review', {
        valueBoolean: entry.payload.keep,
        ...note(
          entry.payload.reason === undefined
            ? undefined
            : `Reason: ${plain(entry.payload.reason).toLowerCase()}.`,
          entry.payload.note,
        ),
      });
    case 'told':
      return observation(
        basis,
        'told',
        { valueString: entry.payload.what, ...note(`Told by: ${entry.payload.who}.`) },
        { category: 'survey' },
      );
    case 'consent':
      return observation(
        basis,
        'consent',
        {
          valueCodeableConcept: wordConcept(
            'consent',
            `${entry.payload.to}.${entry.payload.answer}`,
            `${plain(entry.payload.to)}: ${plain(entry.payload.answer).toLowerCase()}`,
          ),
          ...note(entry.payload.note),
        },
        { category: 'survey' },
      );
    case 'watch-paused':
      return observation(
        basis,
        'watch-event',
        {
          valueCodeableConcept: wordConcept(
            'watch',
            `paused.${entry.payload.reason}`,
            `Watch paused: ${plain(entry.payload.reason).toLowerCase()}`,
          ),
          ...note(`Back by ${when(making, instantMs(entry.payload.backBy))}.`, entry.payload.note),
        },
        { category: 'procedure' },
      );
    case 'watch-resumed':
      return observation(
        basis,
        'watch-event',
        {
          valueCodeableConcept: wordConcept('watch', 'resumed', 'Watch resumed'),
          ...note(entry.payload.note),
        },
        { category: 'procedure' },
      );
    case 'watch-closed':
      return observation(
        basis,
        'watch-event',
        {
          valueCodeableConcept: wordConcept(
            'watch',
            `closed.${entry.payload.outcome}`,
            `Watch closed: ${plain(entry.payload.outcome).toLowerCase()}`,
          ),
          ...note(entry.payload.note),
        },
        { category: 'procedure' },
      );
    case 'step-answered': {
      const advised = making.facts.timeline.find((one) => one.entry.id === entry.payload.advised);
      return observation(
        basis,
        'step-answered',
        {
          valueCodeableConcept: wordConcept(
            'step-answered',
            entry.payload.answer,
            entry.payload.answer === 'taken' ? 'Advised step taken' : 'Another way taken',
          ),
          ...(advised === undefined
            ? {}
            : { focus: [reference('GuidanceResponse', entryResourceId(making, advised))] }),
          ...note(
            entry.payload.instead === undefined ? undefined : `Instead: ${entry.payload.instead}`,
            entry.payload.reason === undefined ? undefined : `Reason: ${entry.payload.reason}`,
          ),
        },
        { category: 'procedure' },
      );
    }
    default:
      return undefined;
  }
}
