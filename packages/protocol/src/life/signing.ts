/**
 * What stands between a draft and the bedside: a proof without a fault, a person of the unit who may sign, a day by
 * which it is looked at again.
 *
 * Errors    protocol/not-proved, protocol/not-a-signer, protocol/other-ward, protocol/own-draft, protocol/not-waiting,
 *           protocol/review-by
 * Source    roles, four eyes and bounds: unit choice (S-common-practice)
 */
import {
  calendarDay,
  controlIsOn,
  dayMs,
  isRefusal,
  readInstant,
  refuse,
  type Refusal,
} from '@ebbline/core/quantity';
import { protocolSigners, type Person, type UnitSettings } from '@ebbline/core/record';
import type { CompiledProtocol } from '../compile-protocol.ts';
import type { ProtocolProof } from '../prove-protocol.ts';
import { faultWords } from '../words/fault-words.ts';
import type { ProtocolVersion } from './versions.ts';

/** Why a protocol can't be signed as its proof stands, with a patient who shows it; undefined when it is proved. */
export function proofRefusal(
  protocol: CompiledProtocol,
  proof: ProtocolProof | Refusal,
): Refusal | undefined {
  if (isRefusal(proof)) return proof;
  const [first] = proof.faults;
  if (first === undefined && proof.whole) return undefined;
  const count = `${proof.whole ? '' : 'at least '}${proof.faults.length} ${proof.faults.length === 1 ? 'fault' : 'faults'}`;
  const words = first && faultWords(first, protocol);
  return refuse('protocol/not-proved', {
    asked: 'Protocol',
    found: words ? `${count}. ${words.title} ${words.patient}` : count,
    allowed: 'a protocol that gives every patient one safe answer',
    todo: 'Put the rows right, and prove it again.',
    ...(first ? { where: first.decision } : {}),
  });
}

const isDay = (text: string): boolean =>
  /^\d{4}-\d{2}-\d{2}$/.test(text) && !isRefusal(readInstant(`${text}T00:00:00Z`));

/** The last day that a review may be set to, in the ward's calendar. */
export const latestReviewDay = (
  settings: Pick<UnitSettings, 'protocolReviewWithinDays'>,
  nowMs: number,
  zone: string,
): string => calendarDay(nowMs + settings.protocolReviewWithinDays * dayMs, zone);

interface Signing {
  readonly version: ProtocolVersion;
  readonly signer: Person;
  readonly reviewBy: string;
  readonly settings: UnitSettings;
  readonly nowMs: number;
  readonly zone: string;
}

/** Why this person can't publish this version with this day; undefined when nothing stands in the way but the proof. */
export function signingRefusal({
  version,
  signer,
  reviewBy,
  settings,
  nowMs,
  zone,
}: Signing): Refusal | undefined {
  const refused = signerRefusal(version.ward, signer);
  if (refused) return refused;
  if (version.state !== 'proved')
    return refuse('protocol/not-waiting', {
      asked: 'Signature',
      found: `a version that is ${version.state}`,
      allowed: 'a version that waits for a signature',
      todo: 'What is published or retired stays as it is. Send a new draft.',
    });
  if (
    version.sent.person === signer.id &&
    settings.protocolAuthorMaySign !== 1 &&
    controlIsOn('H6-second-person')
  )
    return refuse('protocol/own-draft', {
      asked: 'Signature',
      found: 'a draft of your own',
      allowed: 'the signature of a second person',
      todo: 'Ask somebody else who may sign to read it and sign.',
    });
  const today = calendarDay(nowMs, zone);
  const latest = latestReviewDay(settings, nowMs, zone);
  if (!isDay(reviewBy) || reviewBy <= today || reviewBy > latest)
    return refuse('protocol/review-by', {
      asked: 'Day of the next review',
      found: isDay(reviewBy) ? reviewBy : 'no day',
      allowed: `a day after ${today}, ${latest} at the latest`,
      todo: 'Choose a day within the unit’s bound.',
      where: 'reviewBy',
    });
  return undefined;
}

/** Why this person may not sign or retire on this ward; undefined when they may. */
export function signerRefusal(ward: string, signer: Person): Refusal | undefined {
  if (!protocolSigners.includes(signer.role))
    return refuse('protocol/not-a-signer', {
      asked: 'Signature',
      found: `the role ${signer.role.replaceAll('-', ' ')}`,
      allowed: protocolSigners.map((role) => role.replaceAll('-', ' ')).join(', '),
      todo: 'Ask somebody of the unit who owns its protocols.',
    });
  return signer.wards.includes(ward)
    ? undefined
    : refuse('protocol/other-ward', {
        asked: 'Signature',
        found: 'a ward that is not yours',
        allowed: 'protocols of your own wards',
        todo: 'Ask somebody of that ward.',
      });
}
