/** One plane with its outline: the picture on a canvas, the outline over it as drawn by the tracer. */
import { useEffect, useRef, type ReactNode } from 'react';
import type { GreyPlane, PlaneOutline, PlaneSetGeometry, VertexClass } from '@ebbline/imaging';
import styles from './images.module.css';

const dash: Readonly<Record<VertexClass, string | undefined>> = {
  seen: undefined,
  weak: '8 5',
  inferred: '2 4',
  cut: '2 4',
  shadow: '2 4',
};

export function PlaneView({
  plane,
  outline,
  geometry,
  large,
}: {
  readonly plane: GreyPlane;
  readonly outline: PlaneOutline | undefined;
  readonly geometry: PlaneSetGeometry;
  readonly large: boolean;
}): ReactNode {
  const canvas = useRef<HTMLCanvasElement>(null);
  useEffect(() => {
    const context = canvas.current?.getContext('2d');
    if (!context) return;
    const picture = context.createImageData(plane.width, plane.height);
    for (let index = 0; index < plane.grey.length; index += 1) {
      const value = plane.grey[index] ?? 0;
      picture.data.set([value, value, value, 255], index * 4);
    }
    context.putImageData(picture, 0, 0);
  }, [plane]);
  const at = (vertex: { sMm: number; dMm: number }): readonly [number, number] => [
    geometry.apexPx.x + vertex.sMm / geometry.mmPerPx.x,
    geometry.apexPx.y + vertex.dMm / geometry.mmPerPx.y,
  ];
  const vertices = outline?.vertices ?? [];
  return (
    <div
      className={large ? styles['large'] : styles['small']}
      style={{ aspectRatio: `${plane.width} / ${plane.height}` }}
    >
      <canvas ref={canvas} width={plane.width} height={plane.height} />
      <svg viewBox={`0 0 ${plane.width} ${plane.height}`} aria-hidden="true">
        {vertices.map((vertex, index) => {
          const next = vertices[(index + 1) % vertices.length] ?? vertex;
          const [x, y] = at(vertex);
          const [toX, toY] = at(next);
          return (
            <path
              key={index}
              d={`M${x.toFixed(1)} ${y.toFixed(1)}L${toX.toFixed(1)} ${toY.toFixed(1)}`}
              stroke="var(--well-line)"
              strokeWidth={large ? 2 : 4}
              strokeDasharray={large ? dash[vertex.seenAs] : undefined}
              fill="none"
            />
          );
        })}
        {large
          ? vertices
              .filter((_, index) => index % Math.max(1, Math.floor(vertices.length / 16)) === 0)
              .map((vertex) => {
                const [x, y] = at(vertex);
                const key = `${x} ${y}`;
                // Small square: wall seen; open square: faint; open circle: drawn by guess.
                if (vertex.seenAs === 'seen')
                  return <rect key={key} x={x - 4} y={y - 4} width={8} height={8} fill="var(--well-line)" />;
                if (vertex.seenAs === 'weak')
                  return (
                    <rect
                      key={key}
                      x={x - 4}
                      y={y - 4}
                      width={8}
                      height={8}
                      fill="var(--well)"
                      stroke="var(--well-line)"
                      strokeWidth={2}
                    />
                  );
                return (
                  <circle
                    key={key}
                    cx={x}
                    cy={y}
                    r={4.5}
                    fill="var(--well)"
                    stroke="var(--well-line)"
                    strokeWidth={2}
                  />
                );
              })
          : null}
      </svg>
    </div>
  );
}

/** How much of a plane's outline was seen, in a word. */
export function planeWords(outline: PlaneOutline | undefined): string {
  if (!outline || outline.vertices.length === 0) return 'nothing outlined';
  const share = (classes: readonly VertexClass[]): number =>
    outline.vertices.filter((one) => classes.includes(one.seenAs)).length / outline.vertices.length;
  if (share(['cut', 'shadow', 'inferred']) > 0.1) return 'part hidden';
  return share(['weak']) > 0.25 ? 'faint' : 'whole';
}
