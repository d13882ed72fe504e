/**
 * The question before a save: does what is new add up with the rest of the record? It names the sum that fails and what
 * to check. It never offers another number, and whoever asked may keep the entry as it stands.
 *
 *     1 a sum that no filling explains        mass balance, over every span that the new entries touch
 *     2 a clock that was wrong                a time ahead of its recording; a device's time long before it
 *     3 a volume charted already              `chartedAgainShare` at least the unit's `questionFrom`
 *     4 a volume that a slip or a bad look explains better than the bladder does        `surpriseOf`, the same bound
 *
 * Units     mL, ms; shares 0 to 1
 * Domain    live entries of one patient as they are and as they would be; only what is new is judged, against the rest
 * Not for   saying what the volume should have been. Under irrigation, a neobladder or a urostomy 4 says nothing
 * Source    S-made-question-score, S-made-question-clock; the sums by core/filling
 */
import { controlIsOn, hourMs, instantMs, isRefusal, minuteMs, type EntryId } from '../quantity/index.ts';
import {
  chartedAgainShare,
  faultWords,
  massBalance,
  shareToAsk,
  surpriseOf,
  type BalanceSpan,
  type ChartedVolume,
  type Fault,
  type FillingObservation,
  type Measured,
  type Surprise,
} from '../filling/index.ts';
import type { Entry, UnitSettings } from '../record/index.ts';
import {
  countsFromMs,
  limitForFilling,
  lookOf,
  observationsOf,
  priorOf,
  whyNotValid,
  type EstimateInputs,
} from './estimate.ts';
import { estimateInputsOf } from './fold.ts';
import { resolveEntries } from './resolve.ts';
import type { PatientFacts } from './types.ts';

export interface Question {
  /** The sum that fails, as a sentence. */
  readonly sum: string;
  readonly check: string;
  /** The stretch of time whose entries stand behind it. */
  readonly fromMs: number;
  readonly toMs: number;
  readonly because: 'mass-balance' | 'clock' | 'charted-again' | 'slip';
  /** The new entry it is about; absent where a sum is about a whole span. */
  readonly entryId?: EntryId;
}

type VolumeEntry = Extract<Entry, { kind: 'reading' | 'void' | 'drained' | 'bag-read' }>;
const isVolume = (entry: Entry): entry is VolumeEntry =>
  entry.kind === 'reading' || entry.kind === 'void' || entry.kind === 'drained' || entry.kind === 'bag-read';

/** Times further ahead than this, and of a device further back, are a clock's. S-made-question-clock */
const clockAheadAtMost = 2 * minuteMs;
const deviceBehindAtMost = 50 * minuteMs;
/** How long ago a void was of which a reading tells that it came after it, and how far two may be one. S-made-void-sizes */
const usualSinceVoidMin = 10;
const sameVoidMs = 10 * minuteMs;
const anyVoidMl: readonly [number, number] = [20, 700];

export interface ClockDoubt {
  readonly sum: string;
  readonly check: string;
}

/** A time that can't be when it was, by the clock that recorded it. */
export function clockDoubt(volume: {
  readonly atMs: number;
  readonly recordedAtMs: number;
  readonly byDevice: boolean;
}): ClockDoubt | undefined {
  const aheadMs = volume.atMs - volume.recordedAtMs;
  const minutes = Math.round(Math.abs(aheadMs) / minuteMs);
  const check = 'Check the time, and the clock it was read from.';
  if (aheadMs > clockAheadAtMost)
    return { sum: `Its time lies ${minutes} min ahead of now. Is a clock wrong?`, check };
  if (volume.byDevice && -aheadMs >= deviceBehindAtMost)
    return {
      sum: `The device sent it with a time ${minutes} min ago. Sent late, or is its clock wrong?`,
      check,
    };
  return undefined;
}

/** A reading that is said to come after a void tells of that void, charted or not. */
export function voidTold(
  reading: { readonly atMs: number; readonly afterVoid: boolean; readonly sinceVoidMin?: number | undefined },
  known: readonly FillingObservation[],
): readonly FillingObservation[] {
  if (!reading.afterVoid) return [];
  const atMs = reading.atMs - (reading.sinceVoidMin ?? usualSinceVoidMin) * minuteMs;
  if (known.some((one) => one.kind === 'void' && Math.abs(one.atMs - atMs) <= sameVoidMs)) return [];
  return [{ kind: 'void', atMs, measured: false, lowMl: anyVoidMl[0], highMl: anyVoidMl[1] }];
}

const whatIs: Readonly<Record<Measured['kind'], string>> = {
  reading: 'read',
  void: 'passed',
  drained: 'drained',
  bag: 'in the bag',
};

const whatToCheck: Readonly<Record<Fault, string>> = {
  'extra-digit': 'Check the number. If it stands, far more was held than anybody saw.',
  'lost-digit': 'Check the number.',
  'swapped-digits': 'Check the number.',
  'other-chart': 'Check the number and the patient. Was something passed or drained that nobody wrote down?',
  'cut-below': 'Check that the lower edge was in view.',
  'other-fluid': 'Check what else beside the bladder holds fluid.',
  'off-target': 'Check the aim.',
};

const capital = (words: string): string => words.charAt(0).toUpperCase() + words.slice(1);

/** The sum that fails, with its figures, and what it likeliest is. */
export function surpriseWords(
  measured: Measured,
  { expectedMl, likeliest }: Surprise,
): { readonly sum: string; readonly check: string } {
  const shown = `${measured.kind === 'reading' && measured.bound === 'at-least' ? 'at least ' : ''}${Math.round(measured.volumeMl)} mL ${whatIs[measured.kind]}`;
  const range = `${Math.round(expectedMl.low)} to ${Math.round(expectedMl.high)} mL`;
  return {
    sum: `${capital(shown)}; everything else leads to ${range}. ${capital(faultWords[likeliest])}?`,
    check: whatToCheck[likeliest],
  };
}

/** The volume of the same kind that is likeliest this one charted before; undefined when none is at all. */
export function chartedBefore<Other extends ChartedVolume>(
  volume: ChartedVolume,
  others: readonly Other[],
): { readonly share: number; readonly other: Other } | undefined {
  let found: { readonly share: number; readonly other: Other } | undefined;
  for (const other of others) {
    const share = chartedAgainShare(volume, other);
    if (share > (found?.share ?? 0)) found = { share, other };
  }
  return found;
}

export const chartedBeforeWords = (volume: ChartedVolume, other: ChartedVolume): string =>
  `${other.volumeMl} mL is charted already, ${Math.round(Math.abs(other.atMs - volume.atMs) / minuteMs)} min apart. The same one twice?`;

const isTyped = (entry: VolumeEntry): boolean =>
  entry.kind !== 'reading' || entry.payload.source === undefined || entry.payload.source === 'typed';

function chartedOf(entry: VolumeEntry): ChartedVolume | undefined {
  const { volumeMl } = entry.payload;
  if (volumeMl === undefined) return undefined;
  if (entry.kind === 'void' && entry.payload.how !== 'measured' && entry.payload.how !== 'mixed')
    return undefined;
  return {
    volumeMl,
    atMs: countsFromMs(entry),
    recordedAtMs: instantMs(entry.recordedAt),
    typed: isTyped(entry),
    ...(entry.kind === 'reading' && entry.payload.look !== undefined ? { look: entry.payload.look } : {}),
  };
}

/** What the filling room is asked of one new entry: a whole look of readings counts as one. */
function measuredOf(entry: VolumeEntry, fresh: readonly Entry[]): Measured | undefined {
  if (entry.kind === 'reading') {
    if (entry.payload.volumeMl === undefined || entry.payload.result === 'not-obtained') return undefined;
    const { look } = entry.payload;
    const repeats = fresh.filter(
      (one): one is typeof entry => one.kind === 'reading' && look !== undefined && one.payload.look === look,
    );
    return lookOf(repeats.length === 0 ? [entry] : repeats);
  }
  return observationsOf([entry], Number.POSITIVE_INFINITY).find(
    (one): one is Measured =>
      (one.kind === 'void' && one.measured) ||
      one.kind === 'bag' ||
      (one.kind === 'drained' && one.volumeMl !== undefined),
  );
}

const tells = (one: FillingObservation): boolean =>
  one.kind === 'reading' || one.kind === 'void' || one.kind === 'drained';
/** So many volumes before it stand behind a question. */
const volumesBehind = 3;

function behindFromMs(observations: readonly FillingObservation[], atMs: number): number {
  const before = observations.filter((one) => one.atMs <= atMs);
  return (before.filter(tells).at(-volumesBehind) ?? before[0])?.atMs ?? atMs;
}

/** Volumes and fluids of longer ago say next to nothing of now, and a save may not wait for weeks to be followed. S-made-question-days */
const followedMs = 2 * 24 * hourMs;
const lasts = (one: FillingObservation): boolean =>
  one.kind === 'catheter' || one.kind === 'covariate' || (one.kind === 'drained' && one.thenIn === 'left-in');
const recent = (observations: readonly FillingObservation[], atMs: number): readonly FillingObservation[] =>
  observations.filter((one) => one.atMs >= atMs - followedMs || lasts(one));

/** What the new entries are held against. */
interface Rest {
  readonly live: readonly Entry[];
  readonly observations: readonly FillingObservation[];
  readonly inputs: EstimateInputs;
}

function questionAboutVolume(
  entry: VolumeEntry,
  fresh: readonly Entry[],
  rest: Rest,
  questionFrom: number,
): Question | undefined {
  const recordedAtMs = instantMs(entry.recordedAt);
  const volume = chartedOf(entry);
  if (volume === undefined) return undefined;
  const { id: entryId } = entry;
  const atMs = instantMs(entry.effectiveAt);
  const clock = clockDoubt({ atMs, recordedAtMs, byDevice: !isTyped(entry) });
  if (clock) return { ...clock, because: 'clock', fromMs: atMs, toMs: atMs, entryId };
  const before = chartedBefore(
    volume,
    rest.live.flatMap((one) => {
      const other = isVolume(one) && one.kind === entry.kind ? chartedOf(one) : undefined;
      const repeat = volume.look !== undefined && other?.look === volume.look;
      return other === undefined || repeat ? [] : [other];
    }),
  );
  if (before && before.share >= questionFrom)
    return {
      sum: chartedBeforeWords(volume, before.other),
      check: 'If it was two, keep both.',
      fromMs: Math.min(volume.atMs, before.other.atMs),
      toMs: Math.max(volume.atMs, before.other.atMs),
      because: 'charted-again',
      entryId,
    };
  const measured = measuredOf(entry, fresh);
  if (measured === undefined || whyNotValid(rest.inputs) !== undefined) return undefined;
  const told =
    entry.kind === 'reading'
      ? voidTold(
          {
            atMs: measured.atMs,
            afterVoid: entry.payload.relation === 'after-void',
            sinceVoidMin: entry.payload.sinceVoidMin,
          },
          rest.observations,
        )
      : [];
  const surprise = surpriseOf([...recent(rest.observations, measured.atMs), ...told], measured, {
    prior: priorOf(rest.inputs),
    limitMl: limitForFilling(rest.inputs.limitMl),
    nowMs: Math.max(recordedAtMs, measured.atMs),
    clockAheadMs: rest.inputs.clockAheadMs,
    typed: isTyped(entry),
  });
  const figures = rest.inputs.ownFigures === undefined ? 'starting' : 'own';
  if (isRefusal(surprise) || shareToAsk(surprise, figures) < questionFrom) return undefined;
  return {
    ...surpriseWords(measured, surprise),
    fromMs: behindFromMs(rest.observations, measured.atMs),
    toMs: measured.atMs,
    because: 'slip',
    entryId,
  };
}

const keyOf = (span: BalanceSpan): string => `${span.fromMs} ${span.toMs} ${span.finding?.code ?? ''}`;

/** A sum that failed before the new entries is not theirs. */
function questionAboutSums(
  before: readonly FillingObservation[],
  after: readonly FillingObservation[],
): Question | undefined {
  const old = massBalance(before);
  const now = massBalance(after);
  if (isRefusal(now)) return undefined;
  const known = new Set(isRefusal(old) ? [] : old.map(keyOf));
  const fresh = now.find((span) => span.finding !== undefined && !known.has(keyOf(span)));
  if (!fresh?.finding) return undefined;
  return {
    sum: fresh.finding.sum,
    fromMs: fresh.fromMs,
    toMs: fresh.toMs,
    because: 'mass-balance',
    check:
      fresh.finding.code === 'too-much'
        ? 'Check the number, the patient and the last drain.'
        : 'Check the number and the patient. Was something passed or drained that nobody wrote down?',
  };
}

export interface QuestionInputs {
  /** Live entries of the patient as they are, in order of effective time. */
  readonly before: readonly Entry[];
  /** The same as they would be with the new ones. */
  readonly after: readonly Entry[];
  /** Ids of the new ones. */
  readonly fresh: ReadonlySet<string>;
  readonly settings: UnitSettings;
  readonly zone: string;
}

/** The first thing that does not add up with the new entries; undefined when everything may be as it says. */
export function questionOf({ before, after, fresh, settings, zone }: QuestionInputs): Question | undefined {
  if (!controlIsOn('H4-digits')) return undefined;
  const added = after.filter((one) => fresh.has(one.id));
  const volumes = added.filter(isVolume);
  if (volumes.length === 0) return undefined;
  const sums = questionAboutSums(
    observationsOf(before, Number.POSITIVE_INFINITY),
    observationsOf(after, Number.POSITIVE_INFINITY),
  );
  if (sums) return sums;
  for (const entry of volumes) {
    const look = entry.kind === 'reading' ? entry.payload.look : undefined;
    // Repeats that are new with it are judged with it, and nothing is held against itself.
    const live = after.filter(
      (one) =>
        one.id !== entry.id &&
        !(fresh.has(one.id) && look !== undefined && one.kind === 'reading' && one.payload.look === look),
    );
    const rest: Rest = {
      live,
      observations: observationsOf(live, Number.POSITIVE_INFINITY),
      inputs: estimateInputsOf(live, { settings, zone }),
    };
    const question = questionAboutVolume(entry, added, rest, settings.questionFrom);
    if (question) return question;
  }
  return undefined;
}

const liveOf = ({ timeline }: PatientFacts): readonly Entry[] =>
  timeline.filter(({ standing }) => standing.state === 'live').map(({ entry }) => entry);

/** The same, from the facts as they are and as they would be. */
export function questionBetween(
  facts: PatientFacts,
  withEntries: PatientFacts,
  fresh: readonly Pick<Entry, 'id'>[],
  zone: string,
): Question | undefined {
  return questionOf({
    before: liveOf(facts),
    after: liveOf(withEntries),
    fresh: new Set(fresh.map(({ id }) => id)),
    settings: withEntries.settings,
    zone,
  });
}

/** What is asked of each entry that is about to join a patient's record, each beside those before it. */
export function questionsOnAdding(
  facts: PatientFacts,
  added: readonly Entry[],
  zone: string,
): readonly { readonly entryId: EntryId; readonly question: Question }[] {
  const live = (entries: readonly Entry[]): readonly Entry[] =>
    (resolveEntries(entries).byPatient.get(facts.patient) ?? [])
      .filter(({ standing }) => standing.state === 'live')
      .map(({ entry }) => entry);
  let entries = facts.timeline.map(({ entry }) => entry);
  let before = live(entries);
  return added.flatMap((entry) => {
    entries = [...entries, entry];
    const after = live(entries);
    const { settings } = facts;
    const question = questionOf({ before, after, fresh: new Set([entry.id]), settings, zone });
    before = after;
    return question === undefined ? [] : [{ entryId: entry.id, question }];
  });
}
