/** Exercise: outline the bladder on every plane, by hand or from the program's outlines; every step can be undone. */
import { useEffect, useRef, useState, type ReactNode } from 'react';
import { isRefusal, type Refusal } from '@ebbline/core/quantity';
import { whole } from '@ebbline/core/present';
import type { PayloadOf } from '@ebbline/core/record';
import { scoreOutlines, volumeFromOutlines, type OutlineScore } from '@ebbline/imaging';
import type { PracticeSet } from '@ebbline/simulate';
import { Key } from '../../shared/key.tsx';
import { RefusalNotice } from '../../shared/plate.tsx';
import {
  change,
  outlinesOf,
  redo,
  startEditing,
  undecided,
  undo,
  type EditHistory,
  type PlaneState,
} from '../../shared/planes/edit-history.ts';
import { OutlineDrawing } from '../../shared/planes/outline-drawing.tsx';
import { copiedTo, ellipseBetween, type EditableOutline } from '../../shared/planes/outline-edit.ts';
import { PlaneEditor } from '../../shared/planes/plane-editor.tsx';
import { toPlane, type PixelPoint } from '../../shared/planes/plane-frame.ts';
import { PointPicker } from '../../shared/planes/point-picker.tsx';
import type { Chosen } from './choose-exercise.ts';
import { traceInWorker } from './in-worker.ts';
import { traceEntry } from './marking.ts';
import { PlaneStrip } from './plane-strip.tsx';
import { TraceResult, truePolygons } from './trace-result.tsx';
import styles from './practice.module.css';

const outlineIn = (state: PlaneState): EditableOutline | undefined =>
  state === 'none-here' ? undefined : state;

const stateWords = (state: PlaneState): string =>
  state === undefined ? 'to be drawn' : state === 'none-here' ? 'none here' : 'outlined';

export function Trace({
  chosen,
  made,
  keep,
}: {
  readonly chosen: Chosen;
  readonly made: PracticeSet;
  readonly keep: (payload: PayloadOf<'practised'>) => void;
}): ReactNode {
  const { set } = made.phantom;
  const { geometry, planes } = set;
  const [history, setHistory] = useState<EditHistory>(() => startEditing(planes.length, [], false));
  const [draft, setDraft] = useState<EditableOutline>();
  const [start, setStart] = useState<'from-nothing' | 'from-the-program'>('from-nothing');
  const [shown, setShown] = useState(0);
  const [drawing, setDrawing] = useState(false);
  const [points, setPoints] = useState<readonly PixelPoint[]>([]);
  const [tracing, setTracing] = useState<number>();
  const [refusal, setRefusal] = useState<Refusal>();
  const [score, setScore] = useState<OutlineScore>();
  const stop = useRef<() => void>(undefined);
  useEffect(() => () => stop.current?.(), []);

  if (score) return <TraceResult made={made} score={score} outlines={outlinesOf(history.now)} />;

  const states = draft ? history.now.with(draft.plane, draft) : history.now;
  const state = states[shown];
  const outline = outlineIn(state);
  const open = planes[shown];
  const waiting = undecided(states);
  const near = outlinesOf(states)
    .filter((one) => one.plane !== shown)
    .toSorted((a, b) => Math.abs(a.plane - shown) - Math.abs(b.plane - shown))[0];
  const answer = volumeFromOutlines(geometry, outlinesOf(states));
  const volumeWords =
    waiting.length > 0 || answer.volumeMl === undefined ? '' : `${whole(answer.volumeMl)} mL`;
  const name = `Plane ${shown + 1} of ${planes.length}`;
  const step = (next: PlaneState): void => setHistory(change(history, shown, next));
  const show = (plane: number): void => {
    setPoints([]);
    setDrawing(false);
    setShown(plane);
  };

  const fromProgram = async (): Promise<void> => {
    setTracing(0);
    const job = traceInWorker(set, setTracing);
    stop.current = job.stop;
    const traced = await job.done;
    setTracing(undefined);
    if (isRefusal(traced)) return setRefusal(traced);
    if (traced.planes.length === 0)
      return setRefusal(
        traced.refusal ?? {
          refused: true,
          code: 'practice/nothing-outlined',
          asked: 'Outlines by the program',
          found: 'nothing that the program takes for a bladder',
          allowed: 'planes on which it finds one',
          todo: 'Draw the outlines yourself, or say that there is none.',
        },
      );
    setRefusal(undefined);
    setStart('from-the-program');
    setHistory(startEditing(planes.length, traced.planes, true));
  };
  const onPoint = (point: PixelPoint): void => {
    const [first] = points;
    if (!first) return setPoints([point]);
    setPoints([]);
    setDrawing(false);
    step(ellipseBetween(shown, toPlane(geometry, first), toPlane(geometry, point), geometry));
  };
  const finish = (): void => {
    const found = scoreOutlines(geometry, outlinesOf(history.now), truePolygons(made));
    if (isRefusal(found)) return setRefusal(found);
    setRefusal(undefined);
    setScore(found);
    keep(traceEntry(chosen, found, start));
  };
  if (!open) return null;
  return (
    <>
      <p className="speak">
        Outline what you see of the bladder on each plane, up to the edge of the picture, or say that it is
        not on it.
      </p>
      <PlaneStrip
        set={set}
        shown={shown}
        show={show}
        outlineOf={(plane) => outlineIn(states[plane])}
        wordsOf={(plane) => stateWords(states[plane])}
      />
      <div className={styles['well']}>
        <p className={styles['live']}>
          <span>{name}</span>
          <b>{volumeWords}</b>
        </p>
        {drawing ? (
          <>
            <PointPicker
              key={shown}
              plane={open}
              frame={geometry}
              name={name}
              ask={
                points.length === 0 ? 'Tap one end of the bladder where it is longest' : 'Tap its other end'
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
            <output className="speak">
              {points.length === 0
                ? 'Tap one end of the bladder where it is longest.'
                : 'Tap its other end. Then move the points of the ellipse to the wall.'}
            </output>
          </>
        ) : (
          <PlaneEditor
            key={shown}
            plane={open}
            frame={geometry}
            name={name}
            outline={outline}
            volumeWords={volumeWords}
            onDraft={setDraft}
            onChange={step}
          />
        )}
      </div>
      {refusal ? <RefusalNotice refusal={refusal} /> : null}
      {tracing === undefined ? null : (
        <div className={styles['running']}>
          <progress max={1} value={tracing} aria-label="Looking for the outline" />
        </div>
      )}
      <div className={styles['keys']}>
        <Key
          chosen={drawing}
          onClick={() => {
            setPoints([]);
            setDrawing(!drawing);
          }}
        >
          Draw this plane
        </Key>
        {near && !outline ? (
          <Key onClick={() => step(copiedTo(shown, near))}>Take the outline of plane {near.plane + 1}</Key>
        ) : null}
        <Key aria-disabled={state === 'none-here'} onClick={() => step('none-here')}>
          No bladder on this plane
        </Key>
        <Key aria-disabled={history.past.length === 0} onClick={() => setHistory(undo(history))}>
          Undo
        </Key>
        <Key aria-disabled={history.future.length === 0} onClick={() => setHistory(redo(history))}>
          Redo
        </Key>
        {start === 'from-nothing' && history.past.length === 0 ? (
          <Key disabled={tracing !== undefined} onClick={() => void fromProgram()}>
            Put the program's outlines right instead
          </Key>
        ) : null}
      </div>
      <Key look="main" disabled={waiting.length > 0} onClick={finish}>
        {waiting.length > 0
          ? `${waiting.length} of ${planes.length} planes still to do`
          : 'Done: show where I was off'}
      </Key>
    </>
  );
}
