/**
 * The traced body: turned by drag, touch or keys where there is a graphics card, drawn flat where there is none; its
 * extents, its volume and what of it nobody saw in words and a table, always.
 */
import { useDeferredValue, useMemo, type ReactNode } from 'react';
import { isRefusal } from '@ebbline/core/quantity';
import { bodyMeasures, bodyOf, type PlaneOutline, type PlaneSetGeometry } from '@ebbline/imaging';
import { Plate } from '../plate.tsx';
import { BodyView } from './body-view.tsx';
import { extentWords, hiddenWords, shareWords, sideWords, volumeWords } from './body-words.ts';
import styles from './body.module.css';

/** Each outline as a closed line in space: x, y, z in mm, one after the other. */
function contoursOf(geometry: PlaneSetGeometry, outlines: readonly PlaneOutline[]): Float64Array[] {
  const contours: Float64Array[] = [];
  for (const { plane, vertices } of outlines) {
    const pose = geometry.planes[plane];
    if (!pose || vertices.length < 3) continue;
    const contour = new Float64Array(3 * vertices.length);
    for (const [index, { sMm, dMm }] of vertices.entries())
      for (const axis of [0, 1, 2] as const)
        contour[3 * index + axis] = pose.originMm[axis] + sMm * pose.lateral[axis] + dMm * pose.axial[axis];
    contours.push(contour);
  }
  return contours;
}

export function BodyPlate({
  geometry,
  outlines,
  sumMl,
}: {
  readonly geometry: PlaneSetGeometry;
  readonly outlines: readonly PlaneOutline[];
  /** The volume that the layout's own sum over the planes gave. */
  readonly sumMl?: number | undefined;
}): ReactNode {
  // A dragged outline comes first; the body follows when there is time.
  const settled = useDeferredValue(outlines);
  const made = useMemo(() => {
    const body = bodyOf(geometry, settled);
    return isRefusal(body)
      ? body
      : { body, measures: bodyMeasures(body), contours: contoursOf(geometry, settled) };
  }, [geometry, settled]);
  if (isRefusal(made))
    return (
      <Plate title="The body in space">
        <p className="speak">
          Not drawn: {made.found}. {made.todo}
        </p>
      </Plate>
    );
  const { body, measures, contours } = made;
  return (
    <Plate title="The body in space">
      <BodyView body={body} contours={contours} />
      <p className="speak">
        {extentWords(measures)} {hiddenWords(measures)} {volumeWords(body, sumMl)}
      </p>
      <table className={styles['sides']}>
        <caption className="label">What was seen of each side</caption>
        <thead>
          <tr>
            <th scope="col">Side</th>
            <th scope="col">Wall</th>
          </tr>
        </thead>
        <tbody>
          {measures.sides.map(({ side, hiddenShare }) => (
            <tr key={side}>
              <th scope="row">{sideWords[side]}</th>
              <td>{shareWords(hiddenShare)}</td>
            </tr>
          ))}
        </tbody>
      </table>
    </Plate>
  );
}
