/** Every entry as a row of figures and words: the table twin of the tide chart. */
import { instantMs } from '../quantity/index.ts';
import type { Directory, Entry } from '../record/index.ts';
import type { PatientFacts, Standing } from '../facts/index.ts';
import { lowScannerRemark } from './device-error.ts';
import { evidenceSentences } from './evidence.ts';
import * as labels from './labels.ts';
import { pairSentence, residualSentence } from './sentences.ts';
import { clockOrDay, duration, personWords, whole } from './words.ts';

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
      const { method, coefficient, widthMm, heightMm, depthMm, evidence } = entry.payload;
      const measured =
        method === 'calipers' && coefficient !== undefined
          ? `From three diameters, ${widthMm} by ${heightMm} by ${depthMm} mm, coefficient ${Number(coefficient.toFixed(3))}.`
          : method === 'traced-from-images'
            ? 'Measured again on its images.'
            : '';
      const got = [measured, evidence ? evidenceSentences(evidence, directory) : '']
        .filter((one) => one !== '')
        .join(' ');
      const remark = [
        doubts === '' ? '' : `${doubts}.`,
        residual ? residualSentence(residual) : '',
        got,
        repeats,
        lowScannerRemark(entry, facts, directory) ?? '',
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
    case 'instilled':
      return {
        what: 'Put into the bladder',
        volume: whole(entry.payload.volumeMl),
        remark: entry.payload.note ?? '',
      };
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
        remark: `By ${when(entry.payload.dueAt)}${entry.payload.noLaterThanAt === undefined ? '' : `, at the latest ${when(entry.payload.noLaterThanAt)}`}. Rule ${entry.payload.rowId}: ${entry.payload.rowText}`,
      };
    case 'opened-with-reason':
      return {
        what: `Opened from another ward until ${when(entry.payload.until)}`,
        volume: '',
        remark: entry.payload.note ?? `${labels.openReasons[entry.payload.reason] ?? 'Another reason'}.`,
      };
    case 'protocol-moved':
      return {
        what: `Protocol: ${entry.payload.protocolId.replaceAll('-', ' ')}, version ${entry.payload.protocolVersion}`,
        volume: '',
        remark: entry.payload.note ?? 'From here on this watch goes by that version.',
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
    const paper = entry.copiedFrom === 'paper' ? 'From paper.' : '';
    const later = paper === '' ? 'Written down' : 'Keyed in';
    const late = recordedLateMin >= 30 ? `${later} ${duration(recordedLateMin)} later.` : '';
    const moved = movedFrom === undefined ? '' : 'Moved here from another patient.';
    return {
      id: entry.id,
      atMs: instantMs(entry.effectiveAt),
      time: clockOrDay(instantMs(entry.effectiveAt), facts.nowMs, zone),
      what: words.what,
      volume: words.volume,
      by: personWords(entry.author, directory),
      remark: [words.remark, paper, late, moved, standingWords(standing)]
        .filter((one) => one !== '')
        .join(' '),
      standing,
      setAside: standing.state !== 'live',
    };
  });
}
