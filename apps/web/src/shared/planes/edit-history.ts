/**
 * The outlines of one set under edit: the program's, as they were, and the person's, with every step that led to them.
 * Steps keep the outlines themselves, so undo gives back exactly what was there.
 */
import { isRefusal } from '@ebbline/core/quantity';
import type { PlaneOutline } from '@ebbline/imaging';
import { editable, type EditableOutline } from './outline-edit.ts';

/**
 * A plane: an outline, "no bladder here", or not decided yet (`undefined`). Where the program has looked, a plane
 * without an outline is one without bladder; where it refused or was not asked, a person has to say so.
 */
export type PlaneState = EditableOutline | 'none-here' | undefined;
export type PlaneStates = readonly PlaneState[];

export interface EditHistory {
  readonly machine: PlaneStates;
  readonly now: PlaneStates;
  readonly past: readonly PlaneStates[];
  readonly future: readonly PlaneStates[];
}

/**
 * @param outlines what the program drew
 * @param looked true when a plane without an outline was looked at and nothing found there
 */
export function startEditing(
  planes: number,
  outlines: readonly PlaneOutline[],
  looked: boolean,
): EditHistory {
  const machine = Array.from({ length: planes }, (_, plane): PlaneState => {
    const found = outlines.find((one) => one.plane === plane && one.vertices.length > 0);
    const ready = found ? editable(found) : undefined;
    if (ready && !isRefusal(ready)) return ready;
    return looked && !found ? 'none-here' : undefined;
  });
  return { machine, now: machine, past: [], future: [] };
}

const stepTo = (history: EditHistory, next: PlaneStates): EditHistory =>
  next.every((one, plane) => one === history.now[plane])
    ? history
    : { ...history, now: next, past: [...history.past, history.now], future: [] };

export const change = (history: EditHistory, plane: number, state: PlaneState): EditHistory =>
  stepTo(history, history.now.with(plane, state));

export function undo(history: EditHistory): EditHistory {
  const before = history.past.at(-1);
  return before
    ? { ...history, now: before, past: history.past.slice(0, -1), future: [...history.future, history.now] }
    : history;
}

export function redo(history: EditHistory): EditHistory {
  const after = history.future.at(-1);
  return after
    ? { ...history, now: after, past: [...history.past, history.now], future: history.future.slice(0, -1) }
    : history;
}

/** Back to what the program drew, on one plane or on all; itself a step that can be undone. */
export const backToProgram = (history: EditHistory, plane?: number): EditHistory =>
  stepTo(history, plane === undefined ? history.machine : history.now.with(plane, history.machine[plane]));

export const isChanged = (history: EditHistory, plane: number): boolean =>
  history.now[plane] !== history.machine[plane];

export const outlinesOf = (states: PlaneStates): readonly EditableOutline[] =>
  states.filter((one): one is EditableOutline => one !== undefined && one !== 'none-here');

/** Planes that nobody has drawn or called empty, counted from 0. */
export const undecided = (states: PlaneStates): readonly number[] =>
  states.flatMap((one, plane) => (one === undefined ? [plane] : []));
