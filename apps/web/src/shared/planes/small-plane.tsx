/** A plane at the size of a stamp, for a strip: its picture and its outline by line pattern. */
import { memo, type ReactNode } from 'react';
import type { GreyPlane, PlaneOutline, VertexClass } from '@ebbline/imaging';
import { HandleMark, OutlineDrawing } from './outline-drawing.tsx';
import type { PlaneFrame } from './plane-frame.ts';
import { PlaneStage } from './plane-stage.tsx';

export const SmallPlane = memo(function SmallPlane({
  plane,
  frame,
  outline,
  marked,
}: {
  readonly plane: GreyPlane;
  readonly frame?: PlaneFrame | undefined;
  readonly outline?: PlaneOutline | undefined;
  /** Changed by a hand: the mark of a moved point stands in the corner; the words beside it say so too. */
  readonly marked?: boolean;
}): ReactNode {
  return (
    <PlaneStage plane={plane} small>
      {(unitsPerPx) => (
        <>
          {frame && outline ? (
            <OutlineDrawing outline={outline} frame={frame} unitsPerPx={unitsPerPx * 0.6} />
          ) : null}
          {marked === true ? (
            <HandleMark
              at={{ x: 8 * unitsPerPx, y: 8 * unitsPerPx }}
              seenAs="seen"
              byHand
              unitsPerPx={unitsPerPx}
            />
          ) : null}
        </>
      )}
    </PlaneStage>
  );
});

/** How much of a plane's outline was seen, in a word. */
export function planeWords(outline: PlaneOutline | undefined): string {
  if (!outline || outline.vertices.length === 0) return 'nothing outlined';
  const share = (classes: readonly VertexClass[]): number =>
    outline.vertices.filter((one) => classes.includes(one.seenAs)).length / outline.vertices.length;
  if (share(['cut', 'shadow', 'inferred']) > 0.1) return 'part hidden';
  return share(['weak']) > 0.25 ? 'faint' : 'whole';
}
