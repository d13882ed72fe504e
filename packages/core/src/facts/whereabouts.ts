/**
 * Where a patient was, minute by minute, and what about a look at the record is out of the ordinary. Facts for a person
 * who asks; never a verdict on the one who looked.
 *
 * Units     instants in ms since the epoch
 */
import { instantMs } from '../quantity/index.ts';
import type { Entry } from '../record/index.ts';
import { resolveEntries } from './resolve.ts';

export const unusualMarks = [
  'other-ward',
  'had-left',
  'with-reason',
  'watch-over',
  'told-later',
  'carried',
] as const;
/**
 * `other-ward`: the patient was on a ward that is not the person's · `had-left`: the patient had left the person's ward
 * · `with-reason`: the person had opened the record from another ward and given a reason · `watch-over`: the patient's last watch had ended · `told-later`: the tablet told of it later than it happened ·
 * `carried`: told in somebody else's sign-in.
 */
export type UnusualMark = (typeof unusualMarks)[number];

export interface Whereabouts {
  /** The ward by everything that is known today; nothing before the patient was registered. */
  wardAt(atMs: number): string | undefined;
  /** Wards up to and at that minute. */
  wardsUntil(atMs: number): readonly string[];
  /** True while what this person opened with a reason was open to them. */
  openedWithReason(person: string, atMs: number): boolean;
  /** True when a watch had ended by then and no other was open. */
  watchOverAt(atMs: number): boolean;
}

/** @param entries what stands in the patient's record, in any order */
export function whereaboutsOf(patient: string, entries: readonly Entry[]): Whereabouts {
  const live = (resolveEntries(entries).byPatient.get(patient) ?? [])
    .filter(({ standing }) => standing.state === 'live')
    .map(({ entry }) => ({ entry, atMs: instantMs(entry.effectiveAt) }))
    .sort((a, b) => a.atMs - b.atMs);
  const stays = live.flatMap(({ entry, atMs }) =>
    entry.kind === 'patient-registered' || entry.kind === 'transferred'
      ? [{ ward: entry.payload.ward, atMs }]
      : [],
  );
  const turns = live.filter(({ entry }) => entry.kind === 'watch-opened' || entry.kind === 'watch-closed');
  const reasons = live.flatMap(({ entry, atMs }) =>
    entry.kind === 'opened-with-reason'
      ? [{ person: entry.author, atMs, untilMs: instantMs(entry.payload.until) }]
      : [],
  );
  const until = (atMs: number): readonly { readonly ward: string }[] =>
    stays.filter((stay) => stay.atMs <= atMs);
  return {
    wardAt: (atMs) => until(atMs).at(-1)?.ward,
    wardsUntil: (atMs) => [...new Set(until(atMs).map(({ ward }) => ward))],
    openedWithReason: (person, atMs) =>
      reasons.some((one) => one.person === person && one.atMs <= atMs && atMs < one.untilMs),
    watchOverAt: (atMs) => turns.findLast((turn) => turn.atMs <= atMs)?.entry.kind === 'watch-closed',
  };
}

/** One look at, or act on, a record. */
export interface Look {
  readonly person: string;
  readonly atMs: number;
  /** When the ward's record heard of it. */
  readonly heardAtMs: number;
  /** Wards of the person then; none means that the role is bound to no ward. */
  readonly wards: readonly string[];
  /** In whose sign-in it was told, when not in the person's own. */
  readonly carriedBy?: string | undefined;
}

/** A tablet sends what it noted at the next minute with a network; later than this it was out of reach. S-common-practice */
const toldLateMs = 10 * 60_000;

export function unusualAbout(look: Look, whereabouts: Whereabouts | undefined): readonly UnusualMark[] {
  const marks: UnusualMark[] = [];
  const ward = whereabouts?.wardAt(look.atMs);
  if (whereabouts && ward !== undefined && look.wards.length > 0 && !look.wards.includes(ward))
    marks.push(
      whereabouts.wardsUntil(look.atMs).some((one) => look.wards.includes(one)) ? 'had-left' : 'other-ward',
    );
  if (whereabouts?.openedWithReason(look.person, look.atMs) === true) marks.push('with-reason');
  if (whereabouts?.watchOverAt(look.atMs) === true) marks.push('watch-over');
  if (look.heardAtMs - look.atMs > toldLateMs) marks.push('told-later');
  if (look.carriedBy !== undefined) marks.push('carried');
  return marks;
}
