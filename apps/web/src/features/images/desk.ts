/**
 * What the page works with while a person looks: the set, what the program said, the outlines under edit, and the answer
 * that follows from them. Pure; the page holds one of these and replaces it.
 *
 * Errors    `images/planes-undecided` as the answer's refusal, while a person has drawn some planes and not said of the
 *           others whether the bladder is on them: a sum over half of the planes would look whole
 */
import { controlIsOn, refuse } from '@ebbline/core/quantity';
import { volumeFromOutlines, type PlaneSet, type VolumeResult } from '@ebbline/imaging';
import {
  isChanged,
  outlinesOf,
  startEditing,
  undecided,
  undo,
  type EditHistory,
  type PlaneStates,
} from '../../shared/planes/edit-history.ts';
import type { EditableOutline } from '../../shared/planes/outline-edit.ts';

export interface Desk {
  readonly set: PlaneSet;
  readonly program: VolumeResult;
  /** A person pointed at the bladder before the program drew. */
  readonly pointedAt: boolean;
  readonly history: EditHistory;
  /** What stood before a person pointed at the bladder. */
  readonly before?: Desk | undefined;
  /** The outline under a finger, not yet a step. */
  readonly draft?: EditableOutline | undefined;
}

export function deskFor(set: PlaneSet, program: VolumeResult): Desk {
  const looked = program.planes.length > 0;
  return { set, program, pointedAt: false, history: startEditing(set.planes.length, program.planes, looked) };
}

/** What the program drew after a person pointed at the bladder; undo leads back to what there was before. */
export const pointedDesk = (before: Desk, program: VolumeResult): Desk => ({
  ...deskFor(before.set, program),
  pointedAt: true,
  before: { ...before, draft: undefined },
});

/** A step is taken from what was settled: the outline under the finger is in it or gone. */
export const withStep = (desk: Desk, history: EditHistory): Desk => ({ ...desk, history, draft: undefined });

export const canUndo = ({ history, before }: Desk): boolean =>
  history.past.length > 0 || before !== undefined;

export const undoStep = (desk: Desk): Desk =>
  desk.history.past.length > 0 ? withStep(desk, undo(desk.history)) : (desk.before ?? desk);

/** The outlines as they are seen: with the one under the finger. */
export const statesOf = ({ history, draft }: Desk): PlaneStates =>
  draft ? history.now.with(draft.plane, draft) : history.now;

/** Planes that a person changed or drew, counted from 0. */
export const changedPlanes = ({ history }: Desk): readonly number[] =>
  history.now.flatMap((_, plane) => (isChanged(history, plane) ? [plane] : []));

/** Volume, interval and reasons from the outlines as they are seen. */
export function answerOf(desk: Desk): VolumeResult {
  const { set, program, history } = desk;
  const states = statesOf(desk);
  if (states.every((one, plane) => one === history.machine[plane])) return program;
  const outlines = outlinesOf(states);
  const open = undecided(states);
  if (open.length > 0 && controlIsOn('planes-undecided')) {
    const refusal = refuse('images/planes-undecided', {
      asked: 'Volume from images',
      found: `${outlines.length} of ${states.length} planes outlined, ${open.length} not yet`,
      allowed: 'on each plane an outline, or "no bladder here"',
      todo: `Outline plane ${(open[0] ?? 0) + 1}, or say that the bladder is not on it.`,
    });
    return { answer: 'refused', reasons: [], planes: outlines, findings: program.findings, refusal };
  }
  return volumeFromOutlines(set.geometry, outlines, program.findings);
}
