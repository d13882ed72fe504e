/** Asks for what the files do not say: a known length on the picture, how the planes lie, where the fan of the beams is. */
import { useState, type ReactNode } from 'react';
import { isRefusal, type Refusal } from '@ebbline/core/quantity';
import { Choice, Field } from '../../shared/field.tsx';
import { Key } from '../../shared/key.tsx';
import { Plate, RefusalNotice } from '../../shared/plate.tsx';
import type { PixelPoint } from '../../shared/planes/plane-frame.ts';
import { PointPicker } from '../../shared/planes/point-picker.tsx';
import { isMissing, layoutWords, scaleByHand, suggestedStep, type ByHand } from './by-hand.ts';
import { sectorThrough, type SectorPx } from './find-sector.ts';
import type { Pictures } from './pictures.ts';
import styles from './images.module.css';

const fanPoints = [
  'the upper end of the left edge',
  'the lower end of the left edge',
  'the lower end of the right edge',
];

/** The fan as a closed line on the picture. */
function Fan({ sector, unitsPerPx }: { readonly sector: SectorPx; readonly unitsPerPx: number }): ReactNode {
  const { apexPx, halfAngleDeg, rMinPx, rMaxPx } = sector;
  const sine = Math.sin((halfAngleDeg * Math.PI) / 180);
  const cosine = Math.cos((halfAngleDeg * Math.PI) / 180);
  const at = (side: number, range: number): string =>
    `${apexPx.x + side * range * sine} ${apexPx.y + range * cosine}`;
  const d = `M${at(-1, rMinPx)}L${at(-1, rMaxPx)}A${rMaxPx} ${rMaxPx} 0 0 0 ${at(1, rMaxPx)}L${at(1, rMinPx)}A${rMinPx} ${rMinPx} 0 0 1 ${at(-1, rMinPx)}`;
  return (
    <g fill="none">
      <path d={d} stroke="var(--well)" strokeWidth={4 * unitsPerPx} opacity={0.7} />
      <path
        d={d}
        stroke="var(--well-line)"
        strokeWidth={1.5 * unitsPerPx}
        strokeDasharray={`${10 * unitsPerPx} ${5 * unitsPerPx}`}
      />
    </g>
  );
}

export const typedNumber = (text: string): number | undefined => {
  const value = Number(text.trim().replace(',', '.'));
  return text.trim() === '' || !Number.isFinite(value) ? undefined : value;
};

export function Missing({
  pictures,
  start,
  refusal,
  onGiven,
  onDiameters,
}: {
  readonly pictures: Pictures;
  /** What was given before, when a person comes back to it. */
  readonly start?: ByHand | undefined;
  /** Why what was given last does not do. */
  readonly refusal: Refusal | undefined;
  readonly onGiven: (byHand: ByHand) => void;
  /** Three diameters need a scale only. */
  readonly onDiameters: (byHand: ByHand) => void;
}): ReactNode {
  const missing = isMissing(pictures);
  const { planes, known } = pictures;
  const [byHand, setByHand] = useState<ByHand>({
    ...(known.layout ? { layout: known.layout } : {}),
    ...(pictures.fan ? { sectorPx: pictures.fan } : {}),
    ...start,
  });
  const [asking, setAsking] = useState<'scale' | 'fan'>(missing.scale ? 'scale' : 'fan');
  const [fan, setFan] = useState<readonly PixelPoint[]>([]);
  const [length, setLength] = useState(start?.lengthMm === undefined ? '' : String(start.lengthMm));
  const [step, setStep] = useState(start?.step === undefined ? '' : String(start.step));
  const [fanRefusal, setFanRefusal] = useState<Refusal>();
  const [plane] = planes;
  if (!plane) return null;
  const stepSuggested = byHand.layout ? suggestedStep(byHand.layout, planes.length) : undefined;
  const { lengthMm: _length, step: _step, ...chosen } = byHand;
  const given: ByHand = {
    ...chosen,
    ...(typedNumber(length) === undefined ? {} : { lengthMm: typedNumber(length) as number }),
    ...(typedNumber(step) === undefined ? {} : { step: typedNumber(step) as number }),
  };
  const scale = scaleByHand(given);
  const { from, to, sectorPx } = byHand;

  const onPoint = (point: PixelPoint): void => {
    if (asking === 'scale') {
      const { from: _from, to: _to, ...rest } = byHand;
      setByHand(from && !to ? { ...rest, from, to: point } : { ...rest, from: point });
      return;
    }
    const placed = [...fan, point];
    const [upper, lower, right] = placed;
    if (!upper || !lower || !right) return setFan(placed);
    setFan([]);
    const sector = sectorThrough(upper, lower, right);
    setFanRefusal(isRefusal(sector) ? sector : undefined);
    if (!isRefusal(sector)) setByHand({ ...byHand, sectorPx: sector });
  };

  return (
    <div className={styles['columns']}>
      <div className={styles['well']}>
        <PointPicker
          plane={plane}
          name={`Plane 1 of ${planes.length}`}
          ask={
            asking === 'fan'
              ? `Tap ${fanPoints[fan.length] ?? ''}`
              : from && !to
                ? 'Tap the other end of the known length'
                : 'Tap one end of a known length'
          }
          points={asking === 'fan' ? fan : [from, to].filter((one) => one !== undefined)}
          lines={
            from && to
              ? [{ from, to, words: given.lengthMm === undefined ? '? mm' : `${given.lengthMm} mm` }]
              : []
          }
          onPoint={onPoint}
        >
          {(unitsPerPx) => (sectorPx ? <Fan sector={sectorPx} unitsPerPx={unitsPerPx} /> : null)}
        </PointPicker>
        <output className="speak">
          {asking === 'fan'
            ? `Tap ${fanPoints[fan.length] ?? ''}.`
            : from && to
              ? 'Two points are set. Tap again to set them anew.'
              : from
                ? 'Tap the other end.'
                : 'Tap one end of a known length, such as 0 on the depth ruler.'}
        </output>
      </div>
      <div className={styles['answer']}>
        <Plate title="What the files do not say" note="kept with the reading as given by hand">
          <div className={styles['ask']}>
            {missing.scale ? (
              <>
                <Field
                  label="Length between the two points, mm"
                  hint="Such as a stretch of the depth ruler. The longer, the better."
                  inputMode="decimal"
                  value={length}
                  onChange={(event) => setLength(event.target.value)}
                />
                <output className="label">
                  {isRefusal(scale) ? '' : `One pixel is ${scale.x.toFixed(3)} mm.`}
                </output>
                <Key chosen={asking === 'scale'} onClick={() => setAsking('scale')}>
                  Set the two points
                </Key>
              </>
            ) : null}
            {missing.layout ? (
              <>
                <Choice
                  label="How do the planes lie to each other?"
                  value={byHand.layout ?? ''}
                  onChange={(event) => {
                    const { layout: _layout, ...rest } = byHand;
                    const layout = layoutWords.find(([word]) => word === event.target.value)?.[0];
                    setStep('');
                    setByHand(layout ? { ...rest, layout } : rest);
                  }}
                >
                  <option value="">Choose</option>
                  {layoutWords.map(([word, words]) => (
                    <option key={word} value={word}>
                      {words}
                    </option>
                  ))}
                </Choice>
                {byHand.layout && byHand.layout !== 'two_orthogonal_planes' ? (
                  <Field
                    label={
                      byHand.layout === 'parallel_sweep'
                        ? 'From plane to plane, mm'
                        : 'From plane to plane, degrees'
                    }
                    hint={
                      stepSuggested === undefined
                        ? 'It stands on the scanner or in its settings.'
                        : `Left empty: ${stepSuggested.toFixed(1)}, equal steps over 180 degrees.`
                    }
                    inputMode="decimal"
                    value={step}
                    onChange={(event) => setStep(event.target.value)}
                  />
                ) : null}
              </>
            ) : null}
            <p className="speak">
              {sectorPx
                ? 'The dashed line is the fan of the beams. Does it lie on the edges of the picture?'
                : 'The fan of the beams was not found. Set it by three points.'}
            </p>
            <Key
              chosen={asking === 'fan'}
              onClick={() => {
                setFan([]);
                setAsking('fan');
              }}
            >
              Set the fan by three points
            </Key>
            {fanRefusal ? <RefusalNotice refusal={fanRefusal} /> : null}
            {refusal ? <RefusalNotice refusal={refusal} /> : null}
            <Key look="main" onClick={() => onGiven(given)}>
              Find the outline
            </Key>
            <Key onClick={() => onDiameters(given)}>Measure three diameters instead</Key>
          </div>
        </Plate>
      </div>
    </div>
  );
}
