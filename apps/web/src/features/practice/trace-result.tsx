/** What an outlined exercise came to: volume off, and on each plane where and by how much. */
import { useState, type ReactNode } from 'react';
import { whole } from '@ebbline/core/present';
import type { OutlineScore, PlaneOutline } from '@ebbline/imaging';
import type { PracticeSet } from '@ebbline/simulate';
import { Plate } from '../../shared/plate.tsx';
import { OutlineDrawing } from '../../shared/planes/outline-drawing.tsx';
import { PlaneStage } from '../../shared/planes/plane-stage.tsx';
import { BandKey, ErrorBand } from './error-band.tsx';
import { PlaneStrip } from './plane-strip.tsx';
import { takeFocus } from './take-focus.ts';
import { TrueKey, TrueOutline } from './true-outline.tsx';
import { errorWords, levelWords, mm, planeScoreWords } from './words.ts';
import styles from './practice.module.css';

/** The true outlines by plane, as flat s, d pairs. */
export const truePolygons = ({ phantom }: PracticeSet): Float64Array[][] =>
  phantom.truth.outlines.map((outlines) => outlines.map((outline) => Float64Array.from(outline.flat())));

/** What of the whole bladder lies outside the pictures, when that matters. */
function outsideWords(made: PracticeSet): string {
  const { volumeMl, inPictureMl, unshadowedMl } = made.phantom.truth;
  const outside = volumeMl - inPictureMl;
  const shadowed = inPictureMl - unshadowedMl;
  return [
    outside >= 0.02 * volumeMl && volumeMl > 0
      ? `The whole bladder holds ${whole(volumeMl)} mL; ${whole(outside)} mL of it lie outside the pictures, and no outline can show them.`
      : '',
    shadowed >= 0.02 * volumeMl && volumeMl > 0
      ? `${whole(shadowed)} mL lie in shadow, where the wall can only be guessed.`
      : '',
  ]
    .filter((one) => one !== '')
    .join(' ');
}

export function TraceResult({
  made,
  score,
  outlines,
}: {
  readonly made: PracticeSet;
  readonly score: OutlineScore;
  readonly outlines: readonly PlaneOutline[];
}): ReactNode {
  const { set, truth } = made.phantom;
  const [shown, setShown] = useState(0);
  const open = set.planes[shown];
  const drawn = outlines.find((one) => one.plane === shown);
  const comparison = score.planes[shown]?.comparison;
  const level = truth.bladderPresent ? '' : ` It was an exercise with ${levelWords['nothing-there']}.`;
  return (
    <>
      <div ref={takeFocus} tabIndex={-1}>
        <Plate title="How far off you were">
          <p className={styles['figure']}>
            {whole(score.outlinedMl)} <small>mL outlined,</small> {whole(score.trueMl)} <small>mL true</small>
          </p>
          <p className="speak">
            {truth.bladderPresent
              ? `You outlined ${errorWords(score.errorMl, score.trueMl)}. `
              : `There is no bladder in these pictures.${score.outlinedMl > 0 ? ' What you outlined is something else.' : ' You outlined none: right.'}`}
            {score.offMm === undefined ? '' : `Your outlines were ${mm(score.offMm)} mm off on average. `}
            {outsideWords(made)}
            {level}
          </p>
        </Plate>
      </div>
      <PlaneStrip
        set={set}
        shown={shown}
        show={setShown}
        outlineOf={(plane) => outlines.find((one) => one.plane === plane)}
        wordsOf={(plane) => {
          const found = score.planes[plane];
          if (found?.state === 'missed') return 'missed';
          if (found?.state === 'too-many') return 'none there';
          return found?.comparison ? `${mm(found.comparison.meanMm)} mm off` : 'none';
        }}
      />
      <div className={styles['well']}>
        {open ? (
          <PlaneStage
            plane={open}
            frame={set.geometry}
            name={`Plane ${shown + 1} of ${set.planes.length} with both outlines`}
          >
            {(unitsPerPx) => (
              <>
                {comparison ? (
                  <ErrorBand comparison={comparison} frame={set.geometry} unitsPerPx={unitsPerPx} />
                ) : null}
                <TrueOutline made={made} plane={shown} unitsPerPx={unitsPerPx} />
                {drawn ? (
                  <OutlineDrawing outline={drawn} frame={set.geometry} unitsPerPx={unitsPerPx} faintly />
                ) : null}
              </>
            )}
          </PlaneStage>
        ) : null}
        <ul className={styles['key']} aria-label="Key to the outlines">
          <TrueKey />
          <li>
            <svg viewBox="0 0 50 20" aria-hidden="true">
              <path d="M0 10H50" stroke="var(--well-ink)" strokeWidth={1} />
            </svg>
            your outline
          </li>
          <BandKey />
        </ul>
      </div>
      <table>
        <caption className="label">Plane by plane</caption>
        <thead>
          <tr>
            <th scope="col">Plane</th>
            <th scope="col">What was off</th>
          </tr>
        </thead>
        <tbody>
          {score.planes.map((one) => (
            <tr key={one.plane}>
              <th scope="row">{one.plane + 1}</th>
              <td>{planeScoreWords(one)}</td>
            </tr>
          ))}
        </tbody>
      </table>
    </>
  );
}
