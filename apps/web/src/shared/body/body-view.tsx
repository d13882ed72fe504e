/** The drawing of a body with its keys, its key to the hatching and its scale bar. */
import {
  useEffect,
  useId,
  useRef,
  useState,
  type KeyboardEvent,
  type PointerEvent,
  type ReactNode,
} from 'react';
import type { Body } from '@ebbline/imaging';
import { Key } from '../key.tsx';
import { FlatViews } from './flat-views.tsx';
import type { BodyColours, BodyScene } from './scene.ts';
import {
  enlarged,
  heldAfterKey,
  heldAtFirst,
  heldWords,
  scaleBar,
  stepDeg,
  stepLarger,
  turned,
} from './turning.ts';
import styles from './body.module.css';

/** Is there a graphics card to ask? Asked before its part of the program is fetched. */
function hasWebGl(): boolean {
  try {
    const context = document.createElement('canvas').getContext('webgl2');
    context?.getExtension('WEBGL_lose_context')?.loseContext();
    return context !== null;
  } catch {
    return false;
  }
}

function coloursNow(): BodyColours {
  const style = getComputedStyle(document.documentElement);
  const of = (name: string): string => style.getPropertyValue(name).trim();
  return { seen: of('--deep-2'), paper: of('--paper-lift'), ink: of('--ink'), contour: of('--ink') };
}

/** Degrees that a drag of one pixel turns. */
const degPerPx = 0.5;

export function BodyView({
  body,
  contours,
}: {
  readonly body: Body;
  readonly contours: readonly Float64Array[];
}): ReactNode {
  const [drawn, setDrawn] = useState<'waiting' | 'solid' | 'flat'>(() => (hasWebGl() ? 'waiting' : 'flat'));
  const [held, setHeld] = useState(heldAtFirst);
  const [planes, setPlanes] = useState(false);
  const [look, setLook] = useState<ReturnType<BodyScene['draw']>>();
  const host = useRef<HTMLDivElement>(null);
  const slider = useRef<HTMLInputElement>(null);
  const scene = useRef<BodyScene>(undefined);
  const help = useId();
  const latest = useRef({ held, planes, body, contours });
  const dragged = useRef<{ readonly id: number; x: number; y: number }>(undefined);
  const flat = drawn === 'flat';

  useEffect(() => {
    const before = latest.current;
    latest.current = { held, planes, body, contours };
    if (!scene.current) return;
    if (before.body !== body) scene.current.show(body, contours);
    setLook(scene.current.draw(held, planes));
  }, [held, planes, body, contours]);

  useEffect(() => {
    const place = host.current;
    if (flat || !place) return undefined;
    // A canvas of its own each time: a context that was given up does not come back.
    const canvas = document.createElement('canvas');
    canvas.setAttribute('aria-hidden', 'true');
    place.prepend(canvas);
    let left = false;
    const redraw = (): void => {
      if (scene.current) setLook(scene.current.draw(latest.current.held, latest.current.planes));
    };
    const lost = (event: Event): void => {
      event.preventDefault();
      setDrawn('flat');
    };
    canvas.addEventListener('webglcontextlost', lost);
    const sized = new ResizeObserver(redraw);
    const themed = new MutationObserver(() => {
      scene.current?.recolour(coloursNow());
      redraw();
    });
    const start = async (): Promise<void> => {
      try {
        const { bodyScene } = await import('./scene.ts');
        if (left) return;
        scene.current = bodyScene(canvas, coloursNow());
        scene.current.show(latest.current.body, latest.current.contours);
        sized.observe(place);
        themed.observe(document.documentElement, { attributes: true, attributeFilter: ['data-theme'] });
        redraw();
        setDrawn('solid');
      } catch {
        // Its part is not on this tablet, or the graphics card refused.
        if (!left) setDrawn('flat');
      }
    };
    void start();
    return () => {
      left = true;
      sized.disconnect();
      themed.disconnect();
      canvas.removeEventListener('webglcontextlost', lost);
      scene.current?.dispose();
      scene.current = undefined;
      canvas.remove();
    };
  }, [flat]);

  const onKeyDown = (event: KeyboardEvent): void => {
    if (event.ctrlKey || event.altKey || event.metaKey) return;
    const next = heldAfterKey(held, event.key);
    if (!next) return;
    event.preventDefault();
    setHeld(next);
  };
  const onPointerDown = (event: PointerEvent): void => {
    // Else the page takes the focus back from the keys.
    event.preventDefault();
    dragged.current = { id: event.pointerId, x: event.clientX, y: event.clientY };
    event.currentTarget.setPointerCapture(event.pointerId);
    slider.current?.focus({ preventScroll: true });
  };
  const onPointerMove = (event: PointerEvent): void => {
    const from = dragged.current;
    if (!from || from.id !== event.pointerId) return;
    const [dx, dy] = [event.clientX - from.x, event.clientY - from.y];
    dragged.current = { id: event.pointerId, x: event.clientX, y: event.clientY };
    setHeld((before) => turned(before, dx * degPerPx, dy * degPerPx));
  };
  const onPointerEnd = (): void => {
    dragged.current = undefined;
  };

  const bar = look ? scaleBar(look.mmPerPx, 120) : undefined;
  return (
    <div className={styles['view']} data-drawn={drawn}>
      {flat ? null : (
        <div className={styles['solid']}>
          <div
            ref={host}
            className={styles['host']}
            onPointerDown={onPointerDown}
            onPointerMove={onPointerMove}
            onPointerUp={onPointerEnd}
            onPointerCancel={onPointerEnd}
          >
            <input
              ref={slider}
              type="range"
              className="heard"
              aria-label="The body, turned"
              aria-valuetext={heldWords(held)}
              aria-describedby={help}
              min={-180}
              max={180}
              value={Math.round(held.turnDeg)}
              onKeyDown={onKeyDown}
              // Reached by gestures of a screen reader; keys are taken above.
              onChange={(event) => setHeld({ ...held, turnDeg: Number(event.target.value) })}
            />
            {look?.placed.map(({ name, x, y }) => (
              <span
                key={name}
                className={styles['mark']}
                aria-hidden="true"
                style={{ transform: `translate(-50%, -50%) translate(${x.toFixed(1)}px, ${y.toFixed(1)}px)` }}
              >
                {name}
              </span>
            ))}
            {bar ? (
              <span className={styles['scale']} aria-hidden="true">
                <span style={{ inlineSize: `${bar.px}px` }} />
                {bar.mm} mm
              </span>
            ) : null}
          </div>
          <p id={help} className="heard">
            Arrow keys turn and tip it, plus and minus change its size, Home puts it back.
          </p>
          <div className={styles['keys']}>
            <Key onClick={() => setHeld(turned(held, -stepDeg, 0))}>Turn left</Key>
            <Key onClick={() => setHeld(turned(held, stepDeg, 0))}>Turn right</Key>
            <Key onClick={() => setHeld(turned(held, 0, -stepDeg))}>Tip back</Key>
            <Key onClick={() => setHeld(turned(held, 0, stepDeg))}>Tip forward</Key>
            <Key onClick={() => setHeld(enlarged(held, stepLarger))}>Larger</Key>
            <Key onClick={() => setHeld(enlarged(held, 1 / stepLarger))}>Smaller</Key>
            <Key onClick={() => setHeld(heldAtFirst)}>As at first</Key>
            <Key chosen={planes} onClick={() => setPlanes(!planes)}>
              Show the planes
            </Key>
          </div>
        </div>
      )}
      <div className={flat ? undefined : styles['onPaper']}>
        <FlatViews body={body} />
      </div>
      <ul className={styles['legend']}>
        <li>
          <span className={styles['seen']} aria-hidden="true" />
          wall seen
        </li>
        <li>
          <span className={styles['hidden']} aria-hidden="true" />
          not seen, drawn by guess
        </li>
      </ul>
    </div>
  );
}
