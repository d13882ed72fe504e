/**
 * A large plane whose outline a person can move: by mouse, by touch, by keyboard, and by keys that need no drag.
 *
 * One stop of the Tab key: right and left go from point to point, up and down move it out and in by 0.5 mm, with Shift
 * (or Page Up, Page Down) by 2 mm. The outline under edit is the caller's: while a point is dragged `onDraft` gives it,
 * `onChange` is one step.
 */
import { useId, useRef, useState, type KeyboardEvent, type PointerEvent, type ReactNode } from 'react';
import { flushSync } from 'react-dom';
import type { GreyPlane, PlaneOutline } from '@ebbline/imaging';
import { Key } from '../key.tsx';
import { classWords, HandleMark, OutlineDrawing, OutlineKey } from './outline-drawing.tsx';
import { handlesOf, judgeWall, moveAlongRay, radiusMm, type EditableOutline } from './outline-edit.ts';
import { toPixel, toPlane, type PixelPoint, type PlaneFrame } from './plane-frame.ts';
import {
  pixelUnder,
  placeOn,
  PlaneStage,
  useUnitsPerPx,
  viewAround,
  wholeView,
  type View,
} from './plane-stage.tsx';
import styles from './planes.module.css';

export interface PlaneEditorProps {
  readonly plane: GreyPlane;
  readonly frame: PlaneFrame;
  /** "Plane 3 of 12". */
  readonly name: string;
  /** With the draft in it, while there is one. */
  readonly outline: EditableOutline | undefined;
  /** An outline to compare with, drawn thin, and what it is called. */
  readonly compared?: { readonly outline: PlaneOutline; readonly words: string } | undefined;
  /** Said after each move: "248 mL". */
  readonly volumeWords: string;
  /** The outline while a point is dragged; undefined when the drag is given up. */
  readonly onDraft: (outline: EditableOutline | undefined) => void;
  /** One step that can be undone. */
  readonly onChange: (outline: EditableOutline) => void;
}

/** Fewer points where the outline is drawn small, so that each keeps a target of 48 px where it can. */
const handleCounts = [24, 16, 12, 8] as const;
const targetPx = 48;
/** How many points to each side are carried along. */
const carries = [
  { points: 1, words: 'To the next point' },
  { points: 3, words: 'Three points wide' },
] as const;

export function handleCountFor(circumferencePx: number): number {
  return handleCounts.find((one) => circumferencePx / one >= targetPx) ?? 8;
}

function circumferenceOf(points: readonly PixelPoint[]): number {
  let sum = 0;
  for (const [index, here] of points.entries()) {
    const next = points[(index + 1) % points.length] ?? here;
    sum += Math.hypot(next.x - here.x, next.y - here.y);
  }
  return sum;
}

interface Drag {
  readonly pointer: number;
  readonly start: EditableOutline;
  readonly vertex: number;
  /** Where the stage lay when the drag began: a finger that drags does not scroll. */
  readonly box: DOMRect;
  /** From where the finger took hold to the point itself, along the ray, mm. */
  readonly holdMm: number;
  last?: EditableOutline;
}

export function PlaneEditor(props: PlaneEditorProps): ReactNode {
  const { plane, frame, name, outline, compared, volumeWords, onDraft, onChange } = props;
  const [vertex, setVertex] = useState(0);
  const [carry, setCarry] = useState<(typeof carries)[number]>(carries[0]);
  const [said, setSaid] = useState(false);
  // The outline a drag began with: the count of points does not change under the finger.
  const [held, setHeld] = useState<EditableOutline>();
  const drag = useRef<Drag>(undefined);
  const box = useRef<HTMLDivElement>(null);
  // Set when a person comes closer, so that the picture stands still under the finger.
  const [close, setClose] = useState<View>();
  const view = close ?? wholeView(plane);
  const unitsPerPx = useUnitsPerPx(box, view.width, view.width / 640);
  const slider = useRef<HTMLInputElement>(null);
  const help = useId();

  const vertices = outline?.vertices ?? [];
  const count = handleCountFor(
    circumferenceOf(((held ?? outline)?.vertices ?? []).map((one) => toPixel(frame, one))) / unitsPerPx,
  );
  const handles = handlesOf(vertices.length, count);
  const spacing = Math.max(1, Math.round(vertices.length / Math.max(1, handles.length)));
  const reach = spacing * carry.points;
  // The chosen point stays where it was when there are fewer points: the nearest one before it.
  const chosen = Math.max(
    0,
    handles.findLastIndex((one) => one <= vertex),
  );
  const chosenVertex = handles[chosen] ?? 0;
  const here = vertices[chosenVertex];
  const atMm = outline && here ? radiusMm(outline, here) : 0;
  const words = `point ${chosen + 1} of ${handles.length}, ${atMm.toFixed(atMm < 100 ? 1 : 0)} mm from the centre, ${here ? classWords[here.seenAs] : ''}, ${volumeWords}`;

  const choose = (step: number): void => {
    setVertex(handles[(chosen + step + handles.length) % handles.length] ?? 0);
  };
  const nudge = (byMm: number): void => {
    if (outline) onChange(moveAlongRay(outline, chosenVertex, atMm + byMm, reach, frame));
  };
  const onKeyDown = (event: KeyboardEvent): void => {
    if (event.ctrlKey || event.metaKey || event.altKey) return;
    const far = event.shiftKey ? 2 : 0.5;
    const acts: Readonly<Record<string, () => void>> = {
      ArrowRight: () => choose(1),
      ArrowLeft: () => choose(-1),
      ArrowUp: () => nudge(far),
      ArrowDown: () => nudge(-far),
      PageUp: () => nudge(2),
      PageDown: () => nudge(-2),
      Home: () => setVertex(0),
      End: () => setVertex(handles.at(-1) ?? 0),
    };
    const act = acts[event.key];
    if (!act) return;
    event.preventDefault();
    setSaid(false);
    act();
  };

  const alongMm = (
    event: PointerEvent<HTMLElement>,
    { start, vertex: index, box: where }: Pick<Drag, 'start' | 'vertex' | 'box'>,
  ): number => {
    const grabbed = start.vertices[index];
    if (!grabbed) return 0;
    const point = toPlane(frame, pixelUnder(event, where, view));
    return (
      ((point.sMm - start.centre.sMm) * (grabbed.sMm - start.centre.sMm) +
        (point.dMm - start.centre.dMm) * (grabbed.dMm - start.centre.dMm)) /
      radiusMm(start, grabbed)
    );
  };
  const onPointerDown = (event: PointerEvent<HTMLElement>): void => {
    const stage = event.currentTarget.parentElement;
    if (!outline || !stage || event.button !== 0) return;
    // Targets may overlap: the nearest point is meant.
    const where = stage.getBoundingClientRect();
    const under = pixelUnder(event, where, view);
    let vertexUnder = chosenVertex;
    let nearest = Infinity;
    for (const index of handles) {
      const one = vertices[index];
      if (!one) continue;
      const at = toPixel(frame, one);
      const away = Math.hypot(at.x - under.x, at.y - under.y);
      if (away < nearest) [nearest, vertexUnder] = [away, index];
    }
    const grabbed = vertices[vertexUnder];
    if (!grabbed) return;
    event.preventDefault();
    event.currentTarget.setPointerCapture(event.pointerId);
    slider.current?.focus({ preventScroll: true });
    setVertex(vertexUnder);
    setSaid(false);
    setHeld(outline);
    drag.current = {
      pointer: event.pointerId,
      start: outline,
      vertex: vertexUnder,
      box: where,
      holdMm:
        radiusMm(outline, grabbed) - alongMm(event, { start: outline, vertex: vertexUnder, box: where }),
    };
  };
  const onPointerMove = (event: PointerEvent<HTMLElement>): void => {
    const held = drag.current;
    if (!held || held.pointer !== event.pointerId) return;
    const toMm = alongMm(event, held) + held.holdMm;
    held.last = moveAlongRay(held.start, held.vertex, toMm, reach, frame);
    // In the same task: the number is there before the frame that this finger asked for.
    const { last } = held;
    flushSync(() => onDraft(last));
  };
  const onPointerUp = (event: PointerEvent<HTMLElement>): void => {
    const held = drag.current;
    if (!held || held.pointer !== event.pointerId) return;
    drag.current = undefined;
    setHeld(undefined);
    onDraft(undefined);
    if (!held.last) return;
    setSaid(true);
    onChange(held.last);
  };
  const onPointerCancel = (): void => {
    drag.current = undefined;
    setHeld(undefined);
    onDraft(undefined);
  };

  return (
    <div ref={box} className={styles['editor']}>
      <PlaneStage
        plane={plane}
        frame={frame}
        view={view}
        name={`${name}, ultrasound picture`}
        over={handles.map((index) => {
          const one = vertices[index];
          return one ? (
            <span
              key={index}
              className={styles['target']}
              data-point={index}
              style={placeOn(view, toPixel(frame, one))}
              onPointerDown={onPointerDown}
              onPointerMove={onPointerMove}
              onPointerUp={onPointerUp}
              onPointerCancel={onPointerCancel}
            />
          ) : null;
        })}
      >
        {() => (
          <>
            {compared ? (
              <OutlineDrawing outline={compared.outline} frame={frame} unitsPerPx={unitsPerPx} faintly />
            ) : null}
            {outline && here ? (
              <>
                <OutlineDrawing outline={outline} frame={frame} unitsPerPx={unitsPerPx} />
                <g>
                  <circle
                    className={styles['ring']}
                    {...centreOf(toPixel(frame, here))}
                    r={11 * unitsPerPx}
                    stroke="var(--well-line)"
                    strokeWidth={2}
                    strokeDasharray="3 3"
                  />
                  {handles.map((index) => {
                    const one = vertices[index];
                    return one ? (
                      <HandleMark
                        key={index}
                        at={toPixel(frame, one)}
                        seenAs={one.seenAs}
                        byHand={one.byHand === true}
                        unitsPerPx={unitsPerPx}
                      />
                    ) : null;
                  })}
                </g>
              </>
            ) : null}
          </>
        )}
      </PlaneStage>
      {outline ? (
        <input
          ref={slider}
          type="range"
          className="heard"
          aria-label={`Outline of ${name.toLowerCase()}`}
          aria-describedby={help}
          min={1}
          max={200}
          step={0.5}
          value={Math.round(atMm * 2) / 2}
          aria-valuetext={words}
          onKeyDown={onKeyDown}
          // Reached by gestures of a screen reader; keys are taken above.
          onChange={(event) => nudge(Number(event.target.value) - Math.round(atMm * 2) / 2)}
        />
      ) : null}
      <OutlineKey compared={compared?.words} />
      {outline ? (
        <>
          <p id={help} className="heard">
            Right and left arrow: next and previous point. Up and down arrow: out and in by half a millimetre;
            with Shift by 2.
          </p>
          <output className="heard" aria-live="polite">
            {said ? words : ''}
          </output>
          <div className={styles['tools']}>
            <fieldset className={styles['tool']}>
              <legend className="label">
                Point {chosen + 1} of {handles.length}, {atMm.toFixed(1)} mm from the centre:{' '}
                {here ? classWords[here.seenAs] : ''}
              </legend>
              <div>
                <Key onClick={() => (setSaid(true), choose(-1))}>Point before</Key>
                <Key onClick={() => (setSaid(true), choose(1))}>Next point</Key>
                <Key
                  chosen={close !== undefined}
                  onClick={() =>
                    setClose(
                      close
                        ? undefined
                        : viewAround(
                            plane,
                            vertices.map((one) => toPixel(frame, one)),
                          ),
                    )
                  }
                >
                  Closer
                </Key>
              </div>
              <div>
                {[-2, -0.5, 0.5, 2].map((byMm) => (
                  <Key key={byMm} onClick={() => (setSaid(true), nudge(byMm))}>
                    {byMm < 0 ? 'In' : 'Out'} {Math.abs(byMm)} mm
                  </Key>
                ))}
              </div>
            </fieldset>
            <div>
              <fieldset className={styles['tool']}>
                <legend className="label">The wall beside the point goes along smoothly</legend>
                <div>
                  {carries.map((one) => (
                    <Key key={one.points} chosen={carry === one} onClick={() => setCarry(one)}>
                      {one.words}
                    </Key>
                  ))}
                </div>
              </fieldset>
              <fieldset className={styles['tool']}>
                <legend className="label">How do you see the wall at this point?</legend>
                <div>
                  {(['seen', 'weak', 'inferred'] as const).map((seenAs) => (
                    <Key
                      key={seenAs}
                      aria-disabled={here?.seenAs === 'cut'}
                      chosen={here?.seenAs === seenAs}
                      onClick={() => {
                        setSaid(true);
                        onChange(judgeWall(outline, chosenVertex, reach, seenAs));
                      }}
                    >
                      {{ seen: 'Seen', weak: 'Faint', inferred: 'By guess' }[seenAs]}
                    </Key>
                  ))}
                </div>
              </fieldset>
            </div>
          </div>
        </>
      ) : null}
    </div>
  );
}

const centreOf = ({ x, y }: PixelPoint): { readonly cx: number; readonly cy: number } => ({ cx: x, cy: y });
