/**
 * What is true of one patient at `now`, folded from the entries that a replica holds. Nothing here is stored.
 * Volumes mL, durations min, instants in milliseconds since the epoch.
 */
import type { EntryId } from '../quantity/index.ts';
import type { FillingEstimate } from '../filling/index.ts';
import type { DeviceError } from './device-error.ts';
import type {
  Caution,
  Doubt,
  Entry,
  PayloadOf,
  RedFlag,
  Role,
  Step,
  TimeQuality,
  UnitSettings,
  WatchSetting,
} from '../record/index.ts';

/** Where an entry stands after corrections, withdrawals and moves. */
export type Standing =
  | { readonly state: 'live' }
  | { readonly state: 'corrected'; readonly by: EntryId }
  | { readonly state: 'withdrawn'; readonly by: EntryId }
  | { readonly state: 'moved'; readonly by: EntryId; readonly toPatient: string };

export interface TimelineEntry {
  readonly entry: Entry;
  readonly standing: Standing;
  /** Set when the entry was first written in another patient's record. */
  readonly movedFrom?: string;
  /** Recorded so long after it happened, min (0 when at once). */
  readonly recordedLateMin: number;
}

/** Owner of a due item: a person, or a role of a ward when nobody by name has it. Never absent. */
export type Owner =
  | { readonly kind: 'person'; readonly person: string }
  | { readonly kind: 'role'; readonly role: Role; readonly ward: string };

export type DueKind =
  | 'look'
  | 'residual'
  | 'step'
  | 'call-reply'
  | 'catheter-review'
  | 'catheter-removal'
  | 'return'
  | 'consent-again';

/** One thing that somebody has to do by a time. Its key is the same in every replica. */
export interface DueItem {
  readonly key: string;
  readonly kind: DueKind;
  readonly step: Step;
  /** When it is due: the protocol's time, earlier when the forecast brings it forward, or later inside the row's range. */
  readonly dueAtMs: number;
  /** The protocol's own time. */
  readonly protocolDueAtMs: number;
  /** Set when the forecast made it earlier, with the chance of being over the limit by then. */
  readonly broughtForward?: { readonly fromMs: number; readonly toMs: number };
  /** Set when the forecast made it later, inside the row's own range, on a ward that has signed for it. */
  readonly lengthened?: { readonly fromMs: number; readonly toMs: number };
  readonly owner: Owner;
  readonly overdue: boolean;
  readonly overdueMin: number;
  /** How far an overdue item has climbed: its owner, the charge nurse's first row, the unit's notice. */
  readonly climbed: 'owner' | 'charge-nurse' | 'notice';
  readonly acknowledgedBy?: string;
  /** Entry that made it due. */
  readonly because: EntryId;
  readonly row?: {
    readonly id: string;
    readonly text: string;
    readonly sourceId: string;
    readonly protocolId: string;
    readonly protocolVersion: number;
    readonly approved: boolean;
  };
  readonly why: string;
  readonly tell?: string;
}

/** A look that was due and what became of it. */
export interface PastLook {
  readonly dueAtMs: number;
  readonly doneAtMs?: number;
  /** done in time, done after the grace, or never done (another look or the end of the watch came instead). */
  readonly outcome: 'in-time' | 'late' | 'missed';
  readonly lateMin: number;
  readonly owner: Owner;
  readonly advised: EntryId;
}

export interface ReadingFact {
  readonly id: EntryId;
  readonly atMs: number;
  readonly timeQuality: TimeQuality;
  readonly result: 'exact' | 'at-least' | 'not-obtained';
  readonly volumeMl?: number;
  readonly relation: 'before-void' | 'after-void' | 'no-void';
  readonly doubts: readonly Doubt[];
  readonly trust: 'good' | 'doubtful' | 'low-bound-only' | 'unreliable';
  /** Where the volume itself probably lies, nine times in ten, mL. */
  readonly intervalMl?: { readonly low: number; readonly high: number };
  readonly scanner?: string;
  readonly operator: string;
}

export interface VoidFact {
  readonly id: EntryId;
  readonly atMs: number;
  readonly how: 'measured' | 'not-measured' | 'pad-weighed' | 'mixed' | 'lost';
  readonly volumeMl?: number;
  readonly lowMl: number;
  readonly highMl: number;
}

export interface DrainFact {
  readonly id: EntryId;
  readonly atMs: number;
  readonly route: 'in-out' | 'left-in' | 'from-catheter';
  readonly volumeMl?: number;
}

/** A post-void residual: a reading after a void, or a drain after one, paired with its void. */
export interface ResidualFact {
  readonly readingId: EntryId;
  readonly voidId?: EntryId;
  readonly residualMl: number;
  readonly atLeast: boolean;
  readonly sinceVoidMin?: number;
  readonly late: boolean;
  readonly lateByMin: number;
  /** Beside the raw value: what it was at the end of the void, filling taken off, mL. */
  readonly carriedBackMl?: { readonly low: number; readonly likely: number; readonly high: number };
  readonly voidedMl?: number;
  /** VV / (VV + PVR) × 100; absent when both are 0 or the void was not measured. */
  readonly voidingEfficiencyPercent?: number;
}

/** A reading followed by a drained volume: the only proof of what the reading was worth. */
export interface AgreementPair {
  readonly readingId: EntryId;
  readonly drainId: EntryId;
  readonly readMl: number;
  readonly readAtLeast: boolean;
  readonly drainedMl: number;
  readonly apartMin: number;
  /** Filling between them at the unit's plain rates. */
  readonly fillingMl: { readonly low: number; readonly high: number };
  /** Read minus (drained less filling), as per cent of that: negative = read low. Absent when no more drained than filled. */
  readonly differencePercent?: { readonly low: number; readonly high: number };
  readonly scanner?: string;
  readonly operator: string;
  /** Other whole readings of the same look, shown beside it; a low bound says too little to stand here. */
  readonly besideMl: readonly number[];
  /** Read much, drained little: do not drain again on this number alone. */
  readonly readMuchDrainedLittle: boolean;
}

export interface LateDetection {
  readonly byEntry: EntryId;
  readonly atMs: number;
  readonly volumeMl: number;
  readonly limitMl: number;
  /** How long it was probably over, as a range; absent when too little is known. */
  readonly overMin?: { readonly low: number; readonly likely: number; readonly high: number };
}

export interface CatheterFact {
  readonly inPlace: boolean;
  readonly route?: 'urethral' | 'suprapubic';
  readonly placedAtMs?: number;
  readonly reason?: string;
  readonly plannedRemovalAtMs?: number;
  readonly status?: 'draining' | 'blocked' | 'clamped' | 'irrigation-running';
  /** Day of the catheter that is in: 1 on the calendar day of placing (S-clinical-I4); 0 without one. */
  readonly catheterDays: number;
}

export interface OpenCall {
  readonly id: EntryId;
  readonly atMs: number;
  readonly to: string;
  readonly toRole: Role;
  readonly ask: string;
  readonly replyDueAtMs: number;
}

export interface OpenOffer {
  readonly id: EntryId;
  readonly atMs: number;
  readonly from: Owner;
  readonly to: Owner;
  readonly occasion: 'shift' | 'transfer' | 'break' | 'escalation' | 'return';
  /** Keys of due items that can't be handed over in silence: overdue ones and calls without an answer. */
  readonly mustName: readonly string[];
}

export interface OwnershipSpan {
  readonly owner: Owner;
  readonly fromMs: number;
  readonly because: EntryId | undefined;
  readonly readBack?: string;
}

/** What was put into the bladder to begin a void trial, and what was passed of it since. */
export interface BackfillFact {
  readonly instilledMl: number;
  readonly atMs: number;
  readonly id: EntryId;
  /** How many since, measured or not. */
  readonly voids: number;
  /** Absent before the first void, and once a void was not measured. */
  readonly voidedMl?: number;
  /** Percent of what was put in, not rounded. */
  readonly voidedPercent?: number;
}

export interface WatchFact {
  /** The protocol version that this watch keeps: the one moved to, else named when it was opened, else that of its first advised step. */
  readonly protocol?: { readonly id: string; readonly version: number };
  readonly state: 'none' | 'open' | 'paused' | 'closed';
  readonly setting?: WatchSetting;
  readonly reason?: string;
  readonly openedAtMs?: number;
  readonly openedBy?: EntryId;
  readonly pausedUntilMs?: number;
  readonly pauseReason?: string;
  readonly outcome?: string;
  readonly closedAtMs?: number;
}

/** A decision that relied on an entry which was later corrected, withdrawn or moved. */
export interface DecisionToReview {
  readonly decision: EntryId;
  readonly reliedOn: EntryId;
  readonly standing: Standing;
}

export interface PossibleDuplicate {
  readonly first: EntryId;
  readonly second: EntryId;
}

export interface PatientFacts {
  readonly patient: string;
  readonly nowMs: number;
  readonly identity?: PayloadOf<'patient-registered'>;
  readonly initials: string;
  readonly ward: string;
  readonly bed: string;
  readonly watch: WatchFact;
  readonly limitMl: number;
  readonly limitSource: 'own-capacity' | 'unit' | 'prescriber';
  readonly ownCapacityMl?: number;
  readonly weightKg?: number;
  readonly cautions: readonly Caution[];
  readonly redFlags: readonly { readonly flag: RedFlag; readonly atMs: number }[];
  readonly discomfort: boolean;
  readonly declined: readonly ('bladder-ultrasound' | 'catheter')[];
  readonly context: Readonly<
    Record<string, { readonly state?: string; readonly value?: number; readonly atMs: number }>
  >;

  /** Everything, standing included, in the order in which it happened. */
  readonly timeline: readonly TimelineEntry[];
  readonly readings: readonly ReadingFact[];
  readonly voids: readonly VoidFact[];
  readonly drains: readonly DrainFact[];
  readonly residuals: readonly ResidualFact[];
  readonly pairs: readonly AgreementPair[];
  readonly catheter: CatheterFact;
  readonly backfill?: BackfillFact;
  readonly lastEmptied?: {
    readonly atMs: number;
    readonly how: 'passed' | 'drained' | 'told';
    readonly volumeMl?: number;
    readonly measured: boolean;
  };
  readonly sinceEmptiedMin?: number;
  readonly totals: {
    readonly intakeMl: number;
    readonly voidedMl: number;
    readonly drainedMl: number;
    readonly bagMl: number;
    readonly unmeasuredVoids: number;
    readonly balanceMl: number;
  };

  readonly due: readonly DueItem[];
  readonly pastLooks: readonly PastLook[];
  readonly calls: readonly OpenCall[];
  readonly owner: Owner;
  readonly ownership: readonly OwnershipSpan[];
  readonly offers: readonly OpenOffer[];
  readonly lateDetections: readonly LateDetection[];
  readonly toReview: readonly DecisionToReview[];
  readonly possibleDuplicates: readonly PossibleDuplicate[];

  readonly estimate: FillingEstimate | { readonly notValid: string };
  readonly lowResidualsInARow: number;
  readonly settings: UnitSettings;
  /** What is known of the scanners, when whoever folded knew it. */
  readonly devices?: ReadonlyMap<string, DeviceError>;
}

/** A ward at `now`: patients in the order in which somebody has to act. */
export interface WardFacts {
  readonly ward: string;
  readonly nowMs: number;
  readonly patients: readonly PatientFacts[];
  /** Catheters avoided and late detections, always together. */
  readonly counts: { readonly onWatch: number; readonly overdue: number; readonly dueWithinHour: number };
}
