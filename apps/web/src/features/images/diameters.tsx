/** Three diameters between points on the pictures: for a set whose planes make no body, or a person who trusts this more. */
import { useState, type ReactNode } from 'react';
import { whole } from '@ebbline/core/present';
import { isRefusal, type Refusal } from '@ebbline/core/quantity';
import type { PayloadOf } from '@ebbline/core/record';
import type { PlaneSetGeometry } from '@ebbline/imaging';
import { Choice } from '../../shared/field.tsx';
import { Key } from '../../shared/key.tsx';
import { Plate, RefusalNotice } from '../../shared/plate.tsx';
import type { PixelPoint } from '../../shared/planes/plane-frame.ts';
import { PointPicker } from '../../shared/planes/point-picker.tsx';
import { SmallPlane } from '../../shared/planes/small-plane.tsx';
import { Caution, RelationAndKeep } from './answer.tsx';
import {
  coefficientWords,
  diameterNames,
  diametersReading,
  diameterWords,
  lengthMm,
  type DiameterName,
  type Diameters,
} from './diameters-model.ts';
import type { Pictures } from './pictures.ts';
import styles from './images.module.css';

export function DiametersOnPictures({
  pictures,
  mmPerPx,
  me,
  mayKeep,
  keep,
  back,
}: {
  readonly pictures: Pictures;
  readonly mmPerPx: PlaneSetGeometry['mmPerPx'];
  readonly me: string;
  readonly mayKeep: boolean;
  readonly keep: (payload: PayloadOf<'reading'>, words: string) => Promise<Refusal | undefined>;
  readonly back: () => void;
}): ReactNode {
  const [shown, setShown] = useState(0);
  const [asked, setAsked] = useState<DiameterName>('width');
  const [diameters, setDiameters] = useState<Diameters>({});
  const [first, setFirst] = useState<PixelPoint>();
  const [coefficientId, setCoefficientId] = useState('');
  const [refusal, setRefusal] = useState<Refusal>();
  const plane = pictures.planes[shown];
  if (!plane) return null;
  const scaleFrom = pictures.known.mmPerPx === undefined ? 'hand' : 'file';
  const reading = (relation: PayloadOf<'reading'>['relation']): PayloadOf<'reading'> | Refusal =>
    diametersReading(diameters, mmPerPx, scaleFrom, coefficientId, { relation, operator: me });
  const shownReading = reading('no-void');
  const words = isRefusal(shownReading) ? 'no volume' : `${whole(shownReading.volumeMl ?? 0)} mL`;

  const onPoint = (point: PixelPoint): void => {
    if (!first) return setFirst(point);
    setFirst(undefined);
    const measured = { ...diameters, [asked]: { plane: shown, from: first, to: point } };
    setDiameters(measured);
    setAsked(diameterNames.find((name) => !measured[name]) ?? asked);
  };
  return (
    <div className={styles['columns']}>
      <div className={styles['desk']}>
        <ol className={styles['strip']} aria-label="Planes">
          {pictures.planes.map((one, index) => (
            <li key={index}>
              <button
                type="button"
                aria-pressed={index === shown}
                aria-label={`Plane ${index + 1}`}
                onClick={() => (setFirst(undefined), setShown(index))}
              >
                <SmallPlane plane={one} />
                <span>
                  <b>{index + 1}</b>
                </span>
              </button>
            </li>
          ))}
        </ol>
        <div className={styles['well']}>
          <PointPicker
            key={shown}
            plane={plane}
            name={`Plane ${shown + 1} of ${pictures.planes.length}`}
            ask={`${diameterWords[asked]}: tap ${first ? 'the other' : 'one'} inner wall`}
            points={first ? [first] : []}
            lines={diameterNames.flatMap((name) => {
              const one = diameters[name];
              return one?.plane === shown
                ? [{ from: one.from, to: one.to, words: `${name} ${lengthMm(one, mmPerPx).toFixed(0)} mm` }]
                : [];
            })}
            onPoint={onPoint}
          />
          <output className="speak">
            {diameterWords[asked]}: tap {first ? 'the other' : 'one'} inner wall.
          </output>
        </div>
      </div>
      <div className={styles['answer']}>
        <Plate title="Three diameters">
          <div className={styles['ask']}>
            {diameterNames.map((name) => {
              const one = diameters[name];
              return (
                <Key key={name} chosen={asked === name} onClick={() => (setFirst(undefined), setAsked(name))}>
                  {diameterWords[name]}: {one ? `${lengthMm(one, mmPerPx).toFixed(1)} mm` : 'not yet'}
                </Key>
              );
            })}
            <Choice
              label="Coefficient of this unit (kept with the reading)"
              value={coefficientId}
              onChange={(event) => setCoefficientId(event.target.value)}
            >
              <option value="">Choose</option>
              {coefficientWords.map(([id, label]) => (
                <option key={id} value={id}>
                  {label}
                </option>
              ))}
            </Choice>
          </div>
          <p className={styles['figure']} data-volume="">
            {words}
          </p>
          <p className="speak">
            Three diameters take the body for one plain shape. An error of 5 % in each makes 9 % in the
            volume, and 15 % when all three err the same way.
          </p>
        </Plate>
        {refusal ? <RefusalNotice refusal={refusal} /> : null}
        {mayKeep ? (
          <RelationAndKeep
            words={words}
            keep={(relation) => {
              const payload = reading(relation);
              if (isRefusal(payload)) setRefusal(payload);
              else void keep(payload, `three diameters, ${words}`).then(setRefusal);
            }}
          >
            <Key onClick={back}>Back to the outlines</Key>
          </RelationAndKeep>
        ) : null}
        <Caution />
      </div>
    </div>
  );
}
