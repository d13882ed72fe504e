/** Rows of figures and words: the table twin of the tide chart, and the rows of the board. */
import { ageInYears, hourMs, instantMs, minuteMs } from '../quantity/index.ts';
import type { Directory, Entry } from '../record/index.ts';
import type { DueItem, PatientFacts, Standing } from '../facts/index.ts';
import * as labels from './labels.ts';
import {
  forecastSentence,
  hasEstimate,
  nextStepSentence,
  pairSentence,
  residualSentence,
  emptiedWords,
} from './sentences.ts';
import {
  aboutMl,
  clockOrDay,
  duration,
  ownerWords,
  personWords,
  relative,
  volumeWords,
  whole,
} from './words.ts';

export interface TimelineRow {
  readonly id: string;
  readonly atMs: number;
  readonly time: string;
  readonly what: string;
  /** Volume in mL as it is shown, or empty. */
  readonly volume: string;
  readonly by: string;
  readonly remark: string;
  readonly standing: Standing;
  /** Set aside: corrected, withdrawn or moved. It stays visible, struck through. */
  readonly setAside: boolean;
}

/** Units of what is told beside volumes. */
const contextUnits: Readonly<Record<string, string>> = {
  'weight-kg': 'kg',
  'creatinine-umol-per-l': 'µmol/L',
  'potassium-mmol-per-l': 'mmol/L',
  'usual-systolic-mmhg': 'mmHg',
  'loop-diuretic': 'mg',
};

const lower = (text: string): string => text.charAt(0).toLowerCase() + text.slice(1);

/** With a full stop, so that what a person wrote does not run into the next sentence. */
const stopped = (text: string): string => (/[.!?…]$/.test(text) ? text : `${text}.`);

const wardWords = (ward: string, directory: Directory | undefined): string => {
  const name = directory?.wards.find((one) => one.id === ward)?.name;
  return name === undefined ? '' : `${name}, `;
};

function describe(
  entry: Entry,
  facts: PatientFacts,
  zone: string,
  directory: Directory | undefined,
): { what: string; volume: string; remark: string } {
  const when = (at: string): string => clockOrDay(instantMs(at), facts.nowMs, zone);
  switch (entry.kind) {
    case 'patient-registered':
      return { what: 'Registered', volume: '', remark: '' };
    case 'transferred':
      return {
        what: 'Moved',
        volume: '',
        remark: `To ${wardWords(entry.payload.ward, directory)}bed ${entry.payload.bed}. The clock runs on.`,
      };
    case 'watch-opened':
      return {
        what: `Watch opened: ${lower(labels.settings[entry.payload.setting])}`,
        volume: '',
        remark: entry.payload.reason,
      };
    case 'watch-paused':
      return {
        what: `Paused: ${lower(labels.pauseReasons[entry.payload.reason] ?? 'away')}`,
        volume: '',
        remark: `Back by ${when(entry.payload.backBy)}.`,
      };
    case 'watch-resumed':
      return { what: 'Watch goes on', volume: '', remark: '' };
    case 'watch-closed':
      return {
        what: `Watch closed: ${lower(labels.watchOutcomes[entry.payload.outcome] ?? entry.payload.outcome)}`,
        volume: '',
        remark: entry.payload.note ?? '',
      };
    case 'reading': {
      const residual = facts.residuals.find((one) => one.readingId === entry.id);
      const doubts = entry.payload.doubts.map((one) => labels.doubts[one]).join('; ');
      const repeats =
        entry.payload.repeatsMl && entry.payload.repeatsMl.length > 1
          ? `Repeats ${entry.payload.repeatsMl.map((one) => whole(one)).join(', ')} mL, kept the ${entry.payload.repeatRule ?? 'chosen'}.`
          : '';
      const { method, coefficient, widthMm, heightMm, depthMm } = entry.payload;
      const got =
        method === 'calipers' && coefficient !== undefined
          ? `From three diameters, ${widthMm} by ${heightMm} by ${depthMm} mm, coefficient ${Number(coefficient.toFixed(3))}.`
          : method === 'traced-from-images'
            ? 'Measured again on its images.'
            : '';
      const remark = [
        doubts === '' ? '' : `${doubts}.`,
        residual ? residualSentence(residual) : '',
        got,
        repeats,
      ]
        .filter((one) => one !== '')
        .join(' ');
      return {
        what: `Reading, ${lower(labels.voidRelations[entry.payload.relation])}`,
        volume:
          entry.payload.result === 'not-obtained'
            ? 'not obtained'
            : entry.payload.result === 'at-least'
              ? `at least ${whole(entry.payload.volumeMl ?? 0)}`
              : whole(entry.payload.volumeMl ?? 0),
        remark,
      };
    }
    case 'void':
      return {
        what: labels.voidKinds[entry.payload.how],
        volume: entry.payload.volumeMl === undefined ? '' : whole(entry.payload.volumeMl),
        remark:
          entry.payload.padG === undefined
            ? (entry.payload.note ?? '')
            : `Pad ${whole(entry.payload.padG)} g.`,
      };
    case 'drained': {
      const pair = facts.pairs.find((one) => one.drainId === entry.id);
      return {
        what: `Drained: ${lower(labels.drainRoutes[entry.payload.route])}`,
        volume: entry.payload.volumeMl === undefined ? '' : whole(entry.payload.volumeMl),
        remark: [
          entry.payload.sizeCh === undefined ? '' : `Size ${entry.payload.sizeCh}.`,
          entry.payload.difficulty === 'failed'
            ? 'Not possible.'
            : entry.payload.difficulty === 'some'
              ? 'Some difficulty.'
              : '',
          entry.payload.trauma === true ? 'Bleeding or trauma.' : '',
          pair ? pairSentence(pair) : '',
        ]
          .filter((one) => one !== '')
          .join(' '),
      };
    }
    case 'catheter-placed':
      return {
        what: 'Catheter placed',
        volume: '',
        remark: `${labels.catheterReasons[entry.payload.reason] ?? ''}.${entry.payload.plannedRemovalAt ? ` Planned out ${when(entry.payload.plannedRemovalAt)}.` : ''}`,
      };
    case 'catheter-removed':
      return { what: 'Catheter taken out', volume: '', remark: '' };
    case 'catheter-reviewed':
      return {
        what: entry.payload.keep ? 'Catheter reviewed: stays' : 'Catheter reviewed: to come out',
        volume: '',
        remark: entry.payload.plannedRemovalAt ? `Planned out ${when(entry.payload.plannedRemovalAt)}.` : '',
      };
    case 'catheter-status':
      return {
        what: `Catheter: ${entry.payload.status.replaceAll('-', ' ')}`,
        volume: '',
        remark: entry.payload.note ?? '',
      };
    case 'bag-read':
      return {
        what: entry.payload.emptied ? 'Bag emptied' : 'Bag read',
        volume: whole(entry.payload.volumeMl),
        remark: `Since ${when(entry.payload.sinceAt)}.`,
      };
    case 'told':
      return { what: `Told: ${entry.payload.who}`, volume: '', remark: entry.payload.what };
    case 'intake':
      return {
        what: entry.payload.route === 'iv' ? 'Infusion' : 'Drink',
        volume: whole(entry.payload.volumeMl),
        remark: entry.payload.overMin ? `Over ${duration(entry.payload.overMin)}.` : '',
      };
    case 'symptom':
      return {
        what: labels.symptoms[entry.payload.symptom] ?? entry.payload.symptom,
        volume: '',
        remark: '',
      };
    case 'red-flag':
      return { what: 'Red flag', volume: '', remark: `${labels.redFlags[entry.payload.flag]}.` };
    case 'caution':
      return {
        what: entry.payload.present ? 'Caution' : 'Caution ended',
        volume: '',
        remark: `${labels.cautions[entry.payload.caution]}.`,
      };
    case 'context': {
      const { topic, value, state } = entry.payload;
      const names: Readonly<Record<string, string>> = {
        'weight-kg': 'Weight',
        'own-capacity-ml': 'Own capacity',
        'limit-ml': 'Limit set',
        'loop-diuretic': 'Loop diuretic',
        opioid: 'Opioid',
        anticholinergic: 'Anticholinergic',
        'regional-block': 'Regional block',
        anticoagulant: 'Anticoagulant',
        'creatinine-umol-per-l': 'Creatinine',
        'potassium-mmol-per-l': 'Potassium',
        dialysis: 'Dialysis',
        'usual-systolic-mmhg': 'Usual systolic pressure',
      };
      const volume = topic.endsWith('-ml') && value !== undefined;
      return {
        what: names[topic] ?? topic,
        volume: volume ? whole(value) : '',
        remark: [
          state?.replaceAll('-', ' ') ?? '',
          value !== undefined && !volume ? `${value} ${contextUnits[topic] ?? ''}`.trim() : '',
        ]
          .filter((one) => one !== '')
          .join(' '),
      };
    }
    case 'consent':
      return {
        what: `${entry.payload.to === 'bladder-ultrasound' ? 'Bladder ultrasound' : entry.payload.to === 'catheter' ? 'Catheter' : entry.payload.to.replaceAll('-', ' ')}: ${entry.payload.answer.replaceAll('-', ' ')}`,
        volume: '',
        remark: entry.payload.offerAgainAt ? `Offer again ${when(entry.payload.offerAgainAt)}.` : '',
      };
    case 'step-advised':
      return {
        what: `Advised: ${lower(labels.steps[entry.payload.step])}`,
        volume: '',
        remark: `By ${when(entry.payload.dueAt)}. Rule ${entry.payload.rowId}: ${entry.payload.rowText}`,
      };
    case 'step-answered':
      return {
        what: entry.payload.answer === 'taken' ? 'Step taken' : 'Other step',
        volume: '',
        remark: [entry.payload.instead, entry.payload.reason].filter((one) => one !== undefined).join(': '),
      };
    case 'call-made':
      return {
        what: `Called: ${entry.payload.to}`,
        volume: '',
        remark: `${stopped(entry.payload.ask)} Answer due ${when(entry.payload.replyDueAt)}.`,
      };
    case 'call-answered':
      return {
        what: `Answered: ${entry.payload.by}`,
        volume: '',
        remark: `${entry.payload.order}${entry.payload.readBack ? ' (read back)' : ' (not read back)'}`,
      };
    case 'ownership-offered':
      return {
        what: 'Watch offered',
        volume: '',
        remark: entry.payload.toPerson ?? labels.roles[entry.payload.toRole ?? 'charge-nurse'],
      };
    case 'ownership-accepted':
      return { what: 'Watch accepted', volume: '', remark: `“${entry.payload.readBack}”` };
    case 'overdue-acknowledged':
      return { what: 'Overdue item seen', volume: '', remark: entry.payload.note ?? '' };
    case 'withdrawn':
      return {
        what: 'Entry withdrawn',
        volume: '',
        remark: `${labels.correctionReasons[entry.payload.reason]}.`,
      };
    case 'moved-to-patient':
      return { what: 'Entry moved to another patient', volume: '', remark: '' };
    default:
      return { what: '', volume: '', remark: '' };
  }
}

function standingWords(standing: Standing): string {
  if (standing.state === 'corrected') return 'Corrected later.';
  if (standing.state === 'withdrawn') return 'Withdrawn.';
  if (standing.state === 'moved') return "Moved to another patient: it was never this one's.";
  return '';
}

/** Every entry in the order in which it happened, the set-aside ones too. */
export function timelineRows(
  facts: PatientFacts,
  zone: string,
  directory?: Directory,
): readonly TimelineRow[] {
  return facts.timeline.map(({ entry, standing, recordedLateMin, movedFrom }) => {
    const words = describe(entry, facts, zone, directory);
    const late = recordedLateMin >= 30 ? `Written down ${duration(recordedLateMin)} later.` : '';
    const moved = movedFrom === undefined ? '' : 'Moved here from another patient.';
    return {
      id: entry.id,
      atMs: instantMs(entry.effectiveAt),
      time: clockOrDay(instantMs(entry.effectiveAt), facts.nowMs, zone),
      what: words.what,
      volume: words.volume,
      by: personWords(entry.author, directory),
      remark: [words.remark, late, moved, standingWords(standing)].filter((one) => one !== '').join(' '),
      standing,
      setAside: standing.state !== 'live',
    };
  });
}

export interface BoardRow {
  readonly patient: string;
  readonly bed: string;
  readonly initials: string;
  readonly age: string;
  readonly group: 'now' | 'within-the-hour' | 'later' | 'no-look-due';
  readonly item: DueItem | undefined;
  readonly dueTime: string;
  /** Word for the state, such as "20 min overdue" or "in 25 min". */
  readonly dueWords: string;
  readonly mark: 'overdue' | 'due' | 'call' | 'paused' | 'catheter' | 'crossing' | 'none';
  readonly emptiedTime: string;
  readonly emptiedHow: string;
  readonly what: string;
  readonly who: string;
  readonly sentence: string;
  readonly bar:
    | {
        readonly kind: 'band';
        readonly lowMl: number;
        readonly innerLowMl: number;
        readonly likelyMl: number;
        readonly innerHighMl: number;
        readonly highMl: number;
        readonly words: string;
      }
    | { readonly kind: 'at-least'; readonly lowMl: number; readonly words: string }
    | { readonly kind: 'draining'; readonly words: string }
    | { readonly kind: 'not-known'; readonly words: string };
  readonly limitMl: number;
  /** Where it is likely to be when the look is due, mL. */
  readonly likelyWhenDueMl: number | undefined;
}

/** Age in whole years from the record, or empty. The birthday begins in the zone given. */
export function ageWords(facts: PatientFacts, zone = 'UTC'): string {
  const { identity, nowMs } = facts;
  if (identity?.ageYears !== undefined) return String(identity.ageYears);
  if (identity?.birthDate === undefined) return '';
  return String(ageInYears(identity.birthDate, nowMs, zone) ?? '');
}

function barOf(facts: PatientFacts): BoardRow['bar'] {
  if (facts.catheter.inPlace && facts.catheter.status === 'draining')
    return { kind: 'draining', words: 'draining' };
  const { estimate } = facts;
  if ('notValid' in estimate)
    return {
      kind: 'not-known',
      words:
        estimate.notValid === 'ascites' || estimate.notValid === 'pelvic-mass'
          ? 'do not rely on readings'
          : 'estimate not valid',
    };
  if (estimate.informativeEntries === 0) return { kind: 'not-known', words: 'not known yet' };
  const last = facts.readings.at(-1);
  const sinceLast = last === undefined ? undefined : (facts.lastEmptied?.atMs ?? 0) < last.atMs;
  if (
    last &&
    sinceLast &&
    last.volumeMl !== undefined &&
    (last.result === 'at-least' || last.trust === 'low-bound-only')
  )
    return { kind: 'at-least', lowMl: last.volumeMl, words: `at least ${whole(last.volumeMl)}` };
  const { p05Ml, p25Ml, p50Ml, p75Ml, p95Ml } = estimate.content;
  return {
    kind: 'band',
    lowMl: p05Ml,
    innerLowMl: p25Ml,
    likelyMl: p50Ml,
    innerHighMl: p75Ml,
    highMl: p95Ml,
    words: `${aboutMl(p05Ml)}–${aboutMl(p95Ml)}`,
  };
}

export function boardRowOf(facts: PatientFacts, zone: string, directory?: Directory): BoardRow {
  // Items stand in order of their due times, and one grace holds for all of them: what is overdue comes first.
  const [item] = facts.due;
  const emptied = emptiedWords(facts, zone);
  const soon = item !== undefined && item.dueAtMs - facts.nowMs <= hourMs;
  const group =
    item === undefined
      ? 'no-look-due'
      : item.overdue
        ? 'now'
        : item.kind.startsWith('catheter') && !soon
          ? 'no-look-due'
          : soon
            ? 'within-the-hour'
            : 'later';
  const mark =
    item === undefined
      ? 'none'
      : item.kind === 'call-reply'
        ? 'call'
        : item.overdue
          ? 'overdue'
          : item.kind === 'return'
            ? 'paused'
            : item.kind.startsWith('catheter')
              ? 'catheter'
              : item.broughtForward
                ? 'crossing'
                : 'due';
  const estimate = hasEstimate(facts) ? facts.estimate : undefined;
  const hours = item === undefined ? 0 : Math.max(0, (item.dueAtMs - facts.nowMs) / hourMs);
  return {
    patient: facts.patient,
    bed: facts.bed,
    initials: facts.initials,
    age: ageWords(facts, zone),
    group,
    item,
    dueTime: item === undefined ? '' : clockOrDay(item.dueAtMs, facts.nowMs, zone),
    dueWords:
      item === undefined
        ? 'nothing due'
        : item.kind === 'call-reply' && item.overdue
          ? `no reply, ${duration((facts.nowMs - (facts.calls.find((one) => one.id === item.because)?.atMs ?? item.dueAtMs)) / minuteMs)}`
          : item.overdue
            ? `${duration(item.overdueMin)} overdue`
            : relative(item.dueAtMs, facts.nowMs),
    mark,
    emptiedTime: emptied.time,
    emptiedHow: emptied.how,
    what:
      item === undefined
        ? 'Nothing due'
        : item.kind === 'look' || item.kind === 'step'
          ? labels.steps[item.step]
          : labels.dueKinds[item.kind],
    who:
      item === undefined
        ? ownerWords(facts.owner, directory)
        : `${ownerWords(item.owner, directory)}${item.climbed === 'owner' ? '' : item.climbed === 'charge-nurse' ? ', and the charge nurse' : ', the charge nurse, the unit’s notice'}`,
    sentence: item === undefined ? forecastSentence(facts, zone) : nextStepSentence(item, facts, zone),
    bar: barOf(facts),
    limitMl: facts.limitMl,
    likelyWhenDueMl:
      estimate && item && !facts.catheter.inPlace
        ? estimate.content.p50Ml + estimate.rateMlPerH.p50 * hours
        : undefined,
  };
}

export { volumeWords };
