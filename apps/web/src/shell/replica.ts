/**
 * What every feature sees of the record on this tablet. A saved entry is durable on the tablet first, then shown,
 * then sent; online and offline are the same path.
 */
import type { EntryId, Instant, Refusal } from '@ebbline/core/quantity';
import type {
  CopiedFrom,
  Directory,
  Entry,
  EntryKind,
  PayloadOf,
  Person,
  TimeQuality,
} from '@ebbline/core/record';
import type { PatientFacts, WardFacts } from '@ebbline/core/facts';
import type { ProtocolVersion } from '@ebbline/protocol';
import type { BedList, MeanwhileReport, ProtocolRequest } from './remote.ts';

/** What a person wants to record. Author, tablet, id and written-down time are the replica's to add. */
export type Draft<Kind extends EntryKind = EntryKind> = {
  readonly [K in Kind]: {
    readonly patient: string;
    readonly kind: K;
    readonly payload: PayloadOf<K>;
    /** Default: now. */
    readonly effectiveAt?: Instant;
    /** Default: exact. */
    readonly timeQuality?: TimeQuality;
    readonly corrects?: EntryId;
    /** Set when it was written on paper first. */
    readonly copiedFrom?: CopiedFrom;
    /** Give one (from `newId`) when another draft of the same save names this one. */
    readonly id?: EntryId;
  };
}[Kind];

export interface NetworkState {
  readonly online: boolean;
  /** This tablet held nothing and is still reading the ward's record: what is here is not yet the whole. */
  readonly reading: boolean;
  /** Since when this tablet has not reached the ward's record; absent while it does. */
  readonly awaySinceMs?: number;
  /** The last time of some minutes in which this tablet did not reach the record; absent when there was none since it was opened. */
  readonly lastAway?: { readonly fromMs: number; readonly toMs: number };
  /** Entries kept here and not yet sent. */
  readonly waiting: number;
  /** Those of them that the person here wrote. */
  readonly waitingOwn: number;
  /** Other people whose entries are among them: sealed, and handed on by whoever is here. */
  readonly waitingFor: readonly string[];
  /** Entries that the ward's record refused; they stay here until a person has seen them. */
  readonly refused: readonly RefusedEntry[];
}

export interface RefusedEntry {
  readonly entry: Entry;
  readonly refusal: Refusal;
  /** It was carried here by somebody else's sign-in and waits on the server; `vouched` is false when nothing proves it theirs. */
  readonly held?: { readonly vouched: boolean };
}

export interface Replica {
  readonly me: Person;
  directory(): Directory;
  /** Every entry kept here, in order of arrival. */
  entries(): readonly Entry[];
  entriesOf(patient: string): readonly Entry[];
  /** Patients with at least one entry here. */
  patients(): readonly string[];
  /** True now; the same object until an entry of this patient or the minute changes. */
  factsOf(patient: string): PatientFacts;
  /** What would be true with these entries too. Keeps nothing. */
  factsWith(patient: string, more: readonly Entry[]): PatientFacts;
  ward(wardId: string): WardFacts;
  newId(): EntryId;
  /** Turns drafts into whole, checked entries without keeping them: for showing what a save would mean. */
  prepare(drafts: readonly Draft[]): readonly Entry[] | Refusal;
  /** Keeps all of them or none. Resolves when they are durable on this tablet. */
  record(drafts: readonly Draft[]): Promise<readonly Entry[] | Refusal>;
  /** Withdraws entries of a save just made: adds a `withdrawn` entry for each, deletes nothing. */
  undo(ids: readonly EntryId[]): Promise<void>;
  waiting(): number;
  network(): NetworkState;
  /** A person has seen that this entry was refused: it leaves this tablet. */
  dismissRefused(id: EntryId): Promise<void>;
  /** The person says that a held entry is theirs: it is asked anew, as theirs. Undefined when it is kept. */
  claimHeld(id: EntryId): Promise<Refusal | undefined>;
  /** Since the ward's record was last heard, ms; undefined when it never was since the page was opened. */
  sourceAgeMs(): number | undefined;
  /** Results of practice that this person may see, from the ward's record; undefined while it is not reached. */
  practice(): Promise<readonly Entry[] | undefined>;
  /** What came in late, became due or went over on a ward; the ward's record works it out, so it has to be reached. */
  meanwhile(ward: string, fromMs: number | undefined): Promise<MeanwhileReport | Refusal | undefined>;
  /**
   * Signs that the forecast may use a row's range on a ward, or takes the signature back; the ward's record decides, so
   * it has to be reached. Undefined when it is done.
   */
  letLengthen(ward: string, may: boolean): Promise<Refusal | undefined>;
  /** Who lies where on a ward that is not one's own; the record says, so it has to be reached. */
  beds(ward: string): Promise<BedList | Refusal>;
  /** Opens a patient of another ward for a while; undefined when the record has taken it. Not possible without it. */
  openWithReason(opening: {
    readonly patient: string;
    readonly reason: 'covering' | 'asked-to-help' | 'emergency' | 'other';
    readonly forMin: number;
    readonly note?: string;
  }): Promise<Refusal | undefined>;
  /** Versions of protocols as this tablet last read them; an empty list until then. The same list until it changes. */
  protocols(): readonly ProtocolVersion[];
  /** Sends, signs or retires; the ward's record decides, so it has to be reached. Undefined when it is done. */
  askOfProtocols(request: ProtocolRequest): Promise<Refusal | undefined>;
  subscribe(listener: () => void): () => void;
}
