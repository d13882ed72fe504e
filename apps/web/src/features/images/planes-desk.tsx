/**
 * Planes side by side and one large, whose outline a person can move, draw anew, or have drawn anew by pointing at the
 * bladder. Every step can be undone.
 */
import { useEffect, useState, type ReactNode } from 'react';
import type { PlaneSetGeometry, TraceOptions, VolumeResult } from '@ebbline/imaging';
import { Key } from '../../shared/key.tsx';
import {
  backToProgram,
  change,
  isChanged,
  outlinesOf,
  redo,
  type EditHistory,
  type PlaneState,
} from '../../shared/planes/edit-history.ts';
import { OutlineDrawing } from '../../shared/planes/outline-drawing.tsx';
import { copiedTo, ellipseBetween, type EditableOutline } from '../../shared/planes/outline-edit.ts';
import { PlaneEditor } from '../../shared/planes/plane-editor.tsx';
import { toPlane, type PixelPoint } from '../../shared/planes/plane-frame.ts';
import { PlaneStage } from '../../shared/planes/plane-stage.tsx';
import { PointPicker } from '../../shared/planes/point-picker.tsx';
import { planeWords, SmallPlane } from '../../shared/planes/small-plane.tsx';
import { canUndo, statesOf, undoStep, withStep, type Desk } from './desk.ts';
import { resultWords, shortWords } from './keep.ts';
import styles from './images.module.css';

type Tool = 'move' | 'ellipse' | 'point-at';

const drawn = (state: PlaneState): EditableOutline | undefined =>
  state === undefined || state === 'none-here' ? undefined : state;

function stampWords(state: PlaneState): string {
  if (state === undefined) return 'to be drawn';
  return state === 'none-here' ? 'none here' : planeWords(state);
}

const layoutNames: Readonly<Record<PlaneSetGeometry['layout'], string>> = {
  rotational_fan: 'turned about the probe',
  tilt_sweep: 'tilted',
  parallel_sweep: 'side by side',
  two_orthogonal_planes: 'across and along the body',
};

/** "6 whole, 2 faint, 4 part hidden". */
function tally(states: readonly PlaneState[]): string {
  const counts = new Map<string, number>();
  for (const one of states) counts.set(stampWords(one), (counts.get(stampWords(one)) ?? 0) + 1);
  return [...counts].map(([word, count]) => `${count} ${word}`).join(', ');
}

/** The nearest plane that has an outline. */
function nearestDrawn(states: readonly PlaneState[], plane: number): EditableOutline | undefined {
  return outlinesOf(states)
    .filter((one) => one.plane !== plane)
    .toSorted((a, b) => Math.abs(a.plane - plane) - Math.abs(b.plane - plane))[0];
}

export function PlanesDesk({
  desk,
  answer,
  mayEdit,
  shown,
  setShown,
  setDesk,
  setDraft,
  pointAt,
  children,
}: {
  readonly desk: Desk;
  readonly answer: VolumeResult;
  readonly mayEdit: boolean;
  readonly shown: number;
  readonly setShown: (plane: number) => void;
  readonly setDesk: (desk: Desk) => void;
  readonly setDraft: (draft: EditableOutline | undefined) => void;
  readonly pointAt: (seed: NonNullable<TraceOptions['seed']>) => void;
  /** Further keys of the page, in the same row. */
  readonly children?: ReactNode;
}): ReactNode {
  const { set, history } = desk;
  const { geometry } = set;
  const setHistory = (next: EditHistory): void => setDesk(withStep(desk, next));
  const [tool, setTool] = useState<Tool>('move');
  const [points, setPoints] = useState<readonly PixelPoint[]>([]);
  const states = statesOf(desk);
  const state = states[shown];
  const outline = drawn(state);
  const machine = drawn(history.machine[shown]);
  const open = set.planes[shown];
  const name = `Plane ${shown + 1} of ${set.planes.length}`;
  const near = nearestDrawn(states, shown);

  useEffect(() => {
    const onKeyDown = (event: KeyboardEvent): void => {
      if (!(event.ctrlKey || event.metaKey) || !mayEdit) return;
      const key = event.key.toLowerCase();
      const again = key === 'y' || (key === 'z' && event.shiftKey);
      if (!again && key !== 'z') return;
      event.preventDefault();
      setDesk(again ? withStep(desk, redo(desk.history)) : undoStep(desk));
    };
    addEventListener('keydown', onKeyDown);
    return () => removeEventListener('keydown', onKeyDown);
  }, [desk, mayEdit, setDesk]);

  const show = (plane: number): void => {
    setPoints([]);
    setTool('move');
    setShown(plane);
  };
  const take = (next: Tool): void => {
    setPoints([]);
    setTool(tool === next ? 'move' : next);
  };
  const step = (next: PlaneState): void => setHistory(change(history, shown, next));
  const onPoint = (point: PixelPoint): void => {
    if (tool === 'point-at') {
      setTool('move');
      pointAt({ plane: shown, ...toPlane(geometry, point) });
      return;
    }
    const [first] = points;
    if (!first) return setPoints([point]);
    setPoints([]);
    setTool('move');
    step(ellipseBetween(shown, toPlane(geometry, first), toPlane(geometry, point), geometry));
  };
  if (!open) return null;
  return (
    <div className={styles['desk']}>
      <div className={styles['deskHead']}>
        <h2>
          {set.planes.length} planes, {layoutNames[geometry.layout]}
        </h2>
        <span className="label">{tally(states)}</span>
      </div>
      <ol className={styles['strip']} aria-label="Planes">
        {set.planes.map((plane, index) => (
          <li key={index}>
            <button
              type="button"
              aria-pressed={index === shown}
              aria-label={`Plane ${index + 1}, ${stampWords(states[index])}${isChanged(history, index) ? ', moved' : ''}`}
              onClick={() => show(index)}
            >
              <SmallPlane
                plane={plane}
                frame={geometry}
                outline={drawn(states[index])}
                marked={isChanged(history, index)}
              />
              <span>
                <b>{index + 1}</b> {stampWords(states[index])}
              </span>
            </button>
          </li>
        ))}
      </ol>
      <div className={styles['well']}>
        <p className={styles['live']}>
          <span>{name}</span>
          <b>{resultWords(answer)}</b>
        </p>
        {!mayEdit ? (
          <PlaneStage plane={open} frame={geometry} name={`${name}, ultrasound picture`}>
            {(unitsPerPx) =>
              outline ? <OutlineDrawing outline={outline} frame={geometry} unitsPerPx={unitsPerPx} /> : null
            }
          </PlaneStage>
        ) : tool === 'move' ? (
          <PlaneEditor
            key={shown}
            plane={open}
            frame={geometry}
            name={name}
            outline={outline}
            compared={
              machine && outline !== machine
                ? { outline: machine, words: 'the program’s outline' }
                : undefined
            }
            volumeWords={shortWords(answer)}
            onDraft={setDraft}
            onChange={step}
          />
        ) : (
          <PointPicker
            key={`${shown} ${tool}`}
            plane={open}
            frame={geometry}
            name={name}
            ask={
              tool === 'point-at'
                ? 'Tap into the dark of the bladder'
                : points.length === 0
                  ? 'Tap one end of the bladder where it is longest'
                  : 'Tap its other end'
            }
            points={points}
            onPoint={onPoint}
          >
            {(unitsPerPx) =>
              outline ? (
                <OutlineDrawing outline={outline} frame={geometry} unitsPerPx={unitsPerPx} faintly />
              ) : null
            }
          </PointPicker>
        )}
        {tool === 'move' ? null : (
          <output className="speak">
            {tool === 'point-at'
              ? 'Tap into the dark of the bladder. The program then outlines that space on all planes.'
              : points.length === 0
                ? 'Tap one end of the bladder where it is longest.'
                : 'Tap its other end. Then move the points of the ellipse to the wall.'}
          </output>
        )}
      </div>
      {mayEdit ? (
        <div className={styles['acts']}>
          <Key aria-disabled={!canUndo(desk)} onClick={() => setDesk(undoStep(desk))}>
            Undo
          </Key>
          <Key aria-disabled={history.future.length === 0} onClick={() => setHistory(redo(history))}>
            Redo
          </Key>
          <Key
            aria-disabled={!isChanged(history, shown)}
            onClick={() => setHistory(backToProgram(history, shown))}
          >
            This plane as the program had it
          </Key>
          <Key
            aria-disabled={!history.now.some((_, plane) => isChanged(history, plane))}
            onClick={() => setHistory(backToProgram(history))}
          >
            All as the program had it
          </Key>
          <Key chosen={tool === 'point-at'} onClick={() => take('point-at')}>
            The bladder is here…
          </Key>
          <Key chosen={tool === 'ellipse'} onClick={() => take('ellipse')}>
            Draw this plane by hand…
          </Key>
          {near && !outline ? (
            <Key onClick={() => step(copiedTo(shown, near))}>Take the outline of plane {near.plane + 1}</Key>
          ) : null}
          <Key aria-disabled={state === 'none-here'} onClick={() => step('none-here')}>
            No bladder on this plane
          </Key>
          {children}
        </div>
      ) : null}
    </div>
  );
}
