/**
 * The port behind which entries are kept. One replica = one store of one organisation: the server's SQLite
 * file, a tablet's IndexedDB, a test's memory. Every adapter runs the same suite: store.contract.ts.
 *
 * Units     instants as ISO text with offset; sequences are whole numbers from 1, without a gap
 * Errors    what the caller did wrong is a `Refusal` in the result; a disk or a database that fails throws,
 *           and then nothing of that append is kept
 */
import type { Instant, Refusal } from '@ebbline/core/quantity';
import type { Entry, KeptEntry } from '@ebbline/core/record';

/** What is known about an append besides the entries. */
export interface AppendContext {
  /** When this replica received them; a function when they come from another replica, one by one. */
  readonly receivedAt: Instant | ((entry: Entry) => Instant);
  /** Who sent them: a person's or a machine's id. */
  readonly actor: string;
  /** `elsewhere`: they came from the replica that the outbox sends to, so their outbox rows are settled at once. */
  readonly origin?: 'here' | 'elsewhere';
}

/** One entry of an append that is kept now. */
export interface Appended extends KeptEntry {
  /** True when this replica had it already, word for word. */
  readonly known: boolean;
}

/** One entry of an append that is not kept. */
export interface NotAppended {
  readonly id: string;
  readonly refusal: Refusal;
}

export interface AppendResult {
  readonly kept: readonly Appended[];
  readonly refused: readonly NotAppended[];
}

/** What happened, for the audit; `kept` is written by the store itself, the others by edges. */
export const auditActions = [
  'kept',
  'signed-in',
  'sign-in-refused',
  'switched',
  'signed-out',
  'read',
  'exported',
  'refused',
  'held',
  'held-settled',
  'notice-sent',
  'account-changed',
  'directory-changed',
  'lengthening-signed',
  'lengthening-taken-back',
  'protocol-sent',
  'protocol-published',
  'protocol-retired',
  /** A screen with a patient's record, or with a ward's, was shown to a person; told by the tablet. */
  'viewed',
  'passkey-added',
  'passkey-removed',
  'badge-set',
  'badge-removed',
  /** Somebody of another ward opened a patient with a reason. */
  'opened-with-reason',
] as const;
export type AuditAction = (typeof auditActions)[number];

/** How somebody proved who they are. */
export type SignInWay = 'secret' | 'pin' | 'badge' | 'badge-and-pin' | 'passkey';

/** What is known of the place and the way; ids only. */
export interface AuditDetail {
  /** The tablet that it was done on, as it names itself. */
  readonly tablet?: string;
  /** The ward that was shown or printed. */
  readonly ward?: string;
  /** The person's wards at that moment, by the directory. */
  readonly actorWards?: readonly string[];
  readonly way?: SignInWay;
  /** In whose sign-in a tablet told it, when not in the actor's own. */
  readonly carriedBy?: string;
  /** By so many minutes the tablet's clock was ahead; it was then noted under the time of receipt. */
  readonly clockAheadMin?: number;
}

export interface AuditNote {
  /** When this replica noted it. */
  readonly at: Instant;
  readonly actor: string;
  readonly action: AuditAction;
  /** Id of the entry, or the name of the thing. Never a patient's name. */
  readonly subject: string;
  readonly patient?: string;
  /** SHA-256 of the entry's canonical text, in hex; only with `kept`. */
  readonly contentDigest?: string;
  /** When it happened by the teller's own clock, in UTC, when it was told later. */
  readonly toldAt?: Instant;
  /** Made by the teller: what is told again under the same id adds nothing. */
  readonly noteId?: string;
  readonly detail?: AuditDetail;
}

/** A part of the audit's notes, newest first by when it happened: `toldAt` where there is one, else `at`. */
export interface AuditPage {
  /** From this instant on. Instants of a page are in UTC, as `instantOfMs` writes them. */
  readonly from?: Instant;
  /** Before this instant. */
  readonly until?: Instant;
  /** Goes on after this row of the page before. */
  readonly olderThan?: { readonly happenedAt: Instant; readonly sequence: number };
  readonly limit: number;
}

export const happenedAt = (note: AuditNote): Instant => note.toldAt ?? note.at;

/** A row of the audit. `chain` = SHA-256 over the chain before it and this row: see audit-chain.ts. */
export interface AuditRow extends AuditNote {
  readonly sequence: number;
  readonly chain: string;
}

/** An entry on its way to other systems (server) or to the server (tablet). */
export interface OutboxRow {
  /** Sequence of the entry in this replica. */
  readonly sequence: number;
  readonly id: string;
  readonly queuedAt: Instant;
  readonly sentAt?: Instant;
}

/**
 * Whose patients are asked for: those whom these wards follow, and those whom this person follows (core/facts,
 * `followingOf`). On a ward, somebody on no watch who was not heard of since `heardSinceMs` is no longer current.
 */
export interface Reach {
  readonly wards: readonly { readonly ward: string; readonly heardSinceMs: number }[];
  readonly person?: string;
  readonly nowMs: number;
}

/** A follower as a store keeps it: core's, with the sequence from which on it follows without a break. */
export interface KeptFollower {
  readonly id: string;
  readonly kind: 'ward' | 'person';
  readonly untilMs?: number;
  readonly since: number;
}

/** What one patient is to those who follow; kept beside the entries and always what they give. */
export interface KeptFollowing {
  readonly patient: string;
  /** Where the patient is now. */
  readonly ward: string;
  readonly watched: boolean;
  /** When this replica last received an entry about them, to within `heardWithinMs`. */
  readonly heardMs: number;
  readonly followers: readonly KeptFollower[];
}

/** Entries of the patients in reach, and how far was read. */
export interface ReachedEntries {
  readonly entries: readonly KeptEntry[];
  /** The cursor to go on from. */
  readonly through: number;
}

export interface EntryStore {
  readonly organisation: string;
  /** Keeps entries with their audit and outbox rows as one unit: all rows of the call, or none. */
  append(entries: readonly Entry[], context: AppendContext): Promise<AppendResult>;
  /** Entries after a sequence, ascending; the cursor of sync. */
  after(sequence: number, limit: number): Promise<readonly KeptEntry[]>;
  /** Entries written in this patient's record. Those moved here from another record stand in that one. */
  ofPatient(patient: string): Promise<readonly KeptEntry[]>;
  /**
   * Every entry that can change this patient's facts: those of `ofPatient`, and those of other records that were moved
   * here, with what corrects or withdraws them. In order of sequence.
   */
  recordFor(patient: string): Promise<readonly KeptEntry[]>;
  /** Who follows a patient; nothing before any entry. */
  followingOf(patient: string): Promise<KeptFollowing | undefined>;
  /** Patients in reach now, in order of their ids. */
  patientsInReach(reach: Reach): Promise<readonly string[]>;
  /**
   * Entries of the patients in reach that a reader who has read up to `sequence` has not: the newer ones, and the whole
   * record of each patient who came into reach since. About `limit` of them, a record that comes whole never parted;
   * `through` has reached the head when nothing is left. Good for one and the same reach: with another, begin at 0.
   */
  afterInReach(sequence: number, reach: Reach, limit: number): Promise<ReachedEntries>;
  byId(id: string): Promise<KeptEntry | undefined>;
  /** The newest sequence, 0 when empty. */
  head(): Promise<number>;
  /** True when the patient has been registered in this replica. */
  knowsPatient(patient: string): Promise<boolean>;
  /**
   * Calls the listener after entries were kept, by this process or another on the same database, with the newest
   * sequence. It may come late, once for several appends, or once too often: read on from your own cursor.
   *
   * @returns takes the listener away
   */
  onAppended(listener: (head: number) => void): () => void;

  /** Writes one audit row that belongs to no entry. */
  note(note: AuditNote): Promise<void>;
  /** Writes several as one unit, all or none; gives how many were new by their `noteId`. */
  noteAll(notes: readonly AuditNote[]): Promise<number>;
  /**
   * Rows about one patient that belong to no entry: who looked, printed, exported. An index read, however long the audit
   * is. What was recorded stands in the patient's own entries, with its author.
   */
  notesOfPatient(patient: string, page: AuditPage): Promise<readonly AuditRow[]>;
  /** What one person or machine looked at and did besides recording, likewise. */
  notesOfActor(actor: string, page: AuditPage): Promise<readonly AuditRow[]>;
  auditAfter(sequence: number, limit: number): Promise<readonly AuditRow[]>;
  /** How long the audit is, and its newest link; 0 and `chainStart` when empty. */
  auditHead(): Promise<{ readonly auditRows: number; readonly chain: string }>;

  /** Entries not yet sent, oldest first. */
  waiting(limit: number): Promise<readonly OutboxRow[]>;
  outboxAfter(sequence: number, limit: number): Promise<readonly OutboxRow[]>;
  markSent(sequences: readonly number[], sentAt: Instant): Promise<void>;

  /** A number kept under a name, such as how far another replica has been read; 0 when never set. */
  bookmark(name: string): Promise<number>;
  setBookmark(name: string, value: number): Promise<void>;

  close(): Promise<void>;
}

/** The steps of one entry's way into a store; tests make one of them fail. */
export type AppendStep = 'entry' | 'audit' | 'outbox' | 'following' | 'commit';
export type StepProbe = (step: AppendStep, id?: string) => void;
