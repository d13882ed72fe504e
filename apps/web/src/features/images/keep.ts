/**
 * A traced volume as a reading: the bound when only a part was seen, the doubts in the record's words, the interval, the
 * coefficient, and the evidence: both outlines, who drew, where scale and layout came from. The pictures stay where they
 * are.
 *
 * Errors    `images/nothing-to-keep` when there is no volume or the interval is no use
 */
import { labels, whole } from '@ebbline/core/present';
import { refuse, type Instant, type Refusal } from '@ebbline/core/quantity';
import {
  outlineToKeep,
  type Doubt,
  type ImageEvidence,
  type KeptOutline,
  type PayloadOf,
} from '@ebbline/core/record';
import type { PlaneOutline, ReasonCode, VolumeResult } from '@ebbline/imaging';
import { outlinesOf } from '../../shared/planes/edit-history.ts';
import { changedPlanes, type Desk } from './desk.ts';
import type { Known } from './pictures.ts';

/** The tracer's reasons in the words of the record; a reason without a word there is said in the note. */
const doubtOf: Partial<Record<ReasonCode, Doubt>> = {
  'near-empty': 'near-empty',
  'outside-picture': 'edge-outside',
  'lower-wall-shadow': 'cut-below',
  'wall-shadow': 'shadow',
  'faint-wall': 'wall-faint',
  'planes-disagree': 'moved',
  'more-than-one-region': 'second-fluid',
  'off-centre': 'unsure-aim',
};

export function doubtsFrom(result: VolumeResult): readonly Doubt[] {
  return [...new Set(result.reasons.flatMap((one) => doubtOf[one.code] ?? []))];
}

/** `at least 412 mL`, `540 mL, between 430 and 690`. */
export function resultWords(result: VolumeResult): string {
  if (result.answer === 'none-seen') return 'no bladder seen';
  if (result.answer === 'refused' || result.volumeMl === undefined) return 'no volume';
  const interval = result.interval
    ? `, nine times in ten between ${whole(result.interval.loMl)} and ${whole(result.interval.hiMl)} mL`
    : '';
  return result.answer === 'at-least'
    ? `at least ${whole(result.boundMl ?? 0)} mL`
    : `${whole(result.volumeMl)} mL${interval}`;
}

/** Without the interval: what is said after each move of a point, and what a key can hold. */
export const shortWords = (result: VolumeResult): string => resultWords(result).split(',')[0] ?? '';

/** From this many planes on every third vertex is kept, so that an entry stays below half a megabyte. Made here. */
const manyPlanes = 60;

export interface Maker {
  readonly who: string;
  readonly at: Instant;
  /** What the files said before anybody was asked. */
  readonly known: Known;
}

export function evidenceOf(desk: Desk, answer: VolumeResult, maker: Maker): ImageEvidence {
  const { set, program, pointedAt, history } = desk;
  const { geometry } = set;
  const step = set.planes.length > manyPlanes ? 3 : 1;
  const kept = ({ plane, vertices }: PlaneOutline): KeptOutline =>
    outlineToKeep(
      plane,
      vertices
        .filter((_, index) => index % step === 0)
        .map(({ sMm, dMm, seenAs, byHand }) => ({ sMm, dMm, seenAs, byHand: byHand === true })),
    );
  const changed = changedPlanes(desk);
  const theirs = outlinesOf(history.now).filter((one) => changed.includes(one.plane));
  const drawn = outlinesOf(history.machine).length > 0;
  return {
    layout: geometry.layout,
    layoutFrom: maker.known.layout === undefined ? 'hand' : 'file',
    scaleFrom: maker.known.mmPerPx === undefined ? 'hand' : 'file',
    mmPerPxX: geometry.mmPerPx.x,
    mmPerPxY: geometry.mmPerPx.y,
    positions: geometry.planes.map((one) => one.position),
    halfAngleDeg: geometry.sector.halfAngleDeg,
    rMinMm: geometry.sector.rMinMm,
    rMaxMm: geometry.sector.rMaxMm,
    drawnBy: changed.length === 0 ? 'program' : drawn ? 'both' : 'person',
    ...(pointedAt ? { pointedAt } : {}),
    reasons: answer.reasons.map((one) => one.code),
    program: {
      answer: program.answer,
      ...(program.volumeMl === undefined ? {} : { volumeMl: program.volumeMl }),
      ...(program.interval === undefined
        ? {}
        : { lowMl: program.interval.loMl, highMl: program.interval.hiMl }),
      outlines: outlinesOf(history.machine).map(kept),
    },
    ...(changed.length === 0 ? {} : { person: { who: maker.who, at: maker.at, outlines: theirs.map(kept) } }),
  };
}

export function readingFrom(
  result: VolumeResult,
  relation: PayloadOf<'reading'>['relation'],
  operator: string,
  evidence?: ImageEvidence,
): PayloadOf<'reading'> | Refusal {
  const shared = {
    relation,
    operator,
    source: 'images' as const,
    doubts: doubtsFrom(result),
    ...(evidence ? { evidence } : {}),
  };
  if (result.answer === 'none-seen')
    return { ...shared, result: 'not-obtained', reasonNotObtained: 'none-seen' };
  const volumeMl = result.answer === 'at-least' ? result.boundMl : result.volumeMl;
  if (result.answer === 'refused' || volumeMl === undefined) {
    return (
      result.refusal ??
      refuse('images/nothing-to-keep', {
        asked: 'Reading',
        found: 'no volume from these images',
        allowed: 'a volume, a lower bound, or "none seen"',
        todo: 'Measure again, or type the volume.',
      })
    );
  }
  const reasons = result.reasons.map((one) => one.words).join('; ');
  const note = reasons === '' ? 'No reason to doubt it was found.' : `Reasons to doubt it: ${reasons}.`;
  return {
    ...shared,
    result: result.answer === 'at-least' ? 'at-least' : 'exact',
    volumeMl: Math.round(volumeMl),
    method: 'traced-from-images',
    ...(result.interval
      ? { lowMl: Math.max(0, Math.round(result.interval.loMl)), highMl: Math.round(result.interval.hiMl) }
      : {}),
    ...(result.coefficient === undefined ? {} : { coefficient: result.coefficient }),
    ...(result.coefficientSource === undefined ? {} : { coefficientSource: result.coefficientSource }),
    note: note.slice(0, 600),
  };
}

export const relations = Object.entries(labels.voidRelations) as readonly (readonly [
  PayloadOf<'reading'>['relation'],
  string,
])[];
