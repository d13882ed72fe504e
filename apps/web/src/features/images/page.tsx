/**
 * `#/images/<patient>`: a second look at the pictures of one look. The program outlines, says a volume with its interval
 * and every reason to doubt it; a person keeps it as a reading or sets it aside. Nothing leaves the tablet but the reading.
 */
import { useEffect, useRef, useState, type ReactNode } from 'react';
import { theirs, whole } from '@ebbline/core/present';
import { isRefusal, type Refusal } from '@ebbline/core/quantity';
import { mayWrite, type PayloadOf } from '@ebbline/core/record';
import type { PlaneSet, VolumeResult } from '@ebbline/imaging';
import { adviseAfter } from '../../shared/bedside/advise.ts';
import { saved } from '../../shared/bedside/saved.ts';
import { useKept } from '../../shared/bedside/use-kept.ts';
import { BodyPlate } from '../../shared/body/body-plate.tsx';
import { Key, KeyLink } from '../../shared/key.tsx';
import { Empty, Plate, RefusalNotice } from '../../shared/plate.tsx';
import { addressOf, goTo } from '../../shell/address.ts';
import { nowMs } from '../../shell/clock.ts';
import { useFacts, useMe, useReplica, useThisWard } from '../../shell/hooks.ts';
import type { PageProps } from '../../shell/page.ts';
import type { Draft } from '../../shell/replica.ts';
import { readingFrom, relations, resultWords } from './keep.ts';
import { PlaneView, planeWords } from './plane-view.tsx';
import { planeSetFrom } from './read-files.ts';
import { traceInWorker } from './trace.ts';
import styles from './images.module.css';

interface Work {
  readonly set?: PlaneSet;
  readonly result?: VolumeResult;
  readonly refusal?: Refusal;
  /** 0 to 1 while it runs. */
  readonly progress?: number;
}

function Choose({ take }: { readonly take: (files: FileList) => void }): ReactNode {
  const picker = useRef<HTMLInputElement>(null);
  const folder = useRef<HTMLInputElement>(null);
  return (
    <div className={styles['choose']}>
      <label className={styles['file']}>
        <span>One DICOM file from the scanner</span>
        <input
          ref={picker}
          type="file"
          multiple
          data-files=""
          onChange={(event) => event.target.files && take(event.target.files)}
        />
      </label>
      <label className={styles['file']}>
        <span>Or a folder: its pictures and their geometry.json</span>
        <input
          ref={folder}
          type="file"
          {...{ webkitdirectory: '' }}
          onChange={(event) => event.target.files && take(event.target.files)}
        />
      </label>
    </div>
  );
}

function Look({ patient }: { readonly patient: string }): ReactNode {
  const replica = useReplica();
  const facts = useFacts(patient);
  const ward = useThisWard();
  const me = useMe();
  const [work, setWork] = useState<Work>({});
  const [shown, setShown] = useState(0);
  const [relation, setRelation] = useState<PayloadOf<'reading'>['relation']>();
  const stop = useRef<() => void>(undefined);
  useEffect(() => () => stop.current?.(), []);

  const take = async (list: FileList): Promise<void> => {
    stop.current?.();
    setShown(0);
    setWork({ progress: 0 });
    const files = await Promise.all(
      [...list].map(async (file) => ({ name: file.name, bytes: new Uint8Array(await file.arrayBuffer()) })),
    );
    const set = await planeSetFrom(files);
    if (isRefusal(set)) return setWork({ refusal: set });
    const running = traceInWorker(set, (progress) =>
      setWork((before) => (before.progress === undefined ? before : { ...before, progress })),
    );
    setWork({ set, progress: 0.1 });
    stop.current = running.stop;
    const result = await running.done;
    setWork(
      isRefusal(result)
        ? { set, refusal: result }
        : { set, result, ...(result.refusal ? { refusal: result.refusal } : {}) },
    );
  };

  const keep = async (): Promise<void> => {
    if (!work.result || !work.set || relation === undefined) return;
    const payload = readingFrom(work.result, relation, me.id, work.set.planes.length);
    if (isRefusal(payload)) return setWork({ ...work, refusal: payload });
    const draft: Draft = { patient, kind: 'reading', payload };
    const prepared = replica.prepare([draft]);
    if (isRefusal(prepared)) return setWork({ ...work, refusal: prepared });
    const advised = await adviseAfter(replica.factsWith(patient, prepared), prepared, ward.zone);
    const [first] = prepared;
    const step: readonly Draft[] =
      advised === undefined || isRefusal(advised) || !first
        ? []
        : [{ patient, kind: 'step-advised', payload: advised, effectiveAt: first.effectiveAt }];
    const kept = await replica.record([
      { ...draft, ...(first ? { id: first.id, effectiveAt: first.effectiveAt } : {}) },
      ...step,
    ]);
    if (isRefusal(kept)) return setWork({ ...work, refusal: kept });
    saved.say({
      patient,
      ids: kept.map((entry) => entry.id),
      atMs: nowMs(),
      words: `reading from images, ${resultWords(work.result)}`,
      ...(advised !== undefined && isRefusal(advised) ? { noStep: advised.todo } : {}),
    });
    goTo('patient', patient);
  };

  const { set, result, refusal, progress } = work;
  const outlineOf = (index: number): VolumeResult['planes'][number] | undefined =>
    result?.planes.find((one) => one.plane === index);
  const open = set?.planes[shown];
  return (
    <div className={styles['page']}>
      <h1>Second look at the images</h1>
      <p className="label">
        Bed {facts.bed}, {facts.initials.replace(/\.$/, '')}. The pictures stay on this tablet and are
        forgotten when the page is left.
      </p>
      <Choose take={(list) => void take(list)} />
      {progress === undefined ? null : (
        <div className={styles['running']}>
          <progress max={1} value={progress} aria-label="Looking for the outline" />
          <Key
            onClick={() => {
              stop.current?.();
              setWork({});
            }}
          >
            Stop
          </Key>
        </div>
      )}
      {refusal ? (
        <>
          <RefusalNotice refusal={refusal} />
          {mayWrite(me.role, 'reading') ? (
            <div className={styles['keys']}>
              <KeyLink href={addressOf('entry', patient, 'calipers')}>Enter three diameters</KeyLink>
              <KeyLink href={addressOf('entry', patient, 'reading')}>Enter the volume</KeyLink>
            </div>
          ) : null}
        </>
      ) : null}
      {set && open ? (
        <div className={styles['columns']}>
          <div>
            <ol className={styles['strip']} aria-label="Planes">
              {set.planes.map((plane, index) => (
                <li key={index}>
                  <button type="button" aria-pressed={index === shown} onClick={() => setShown(index)}>
                    <PlaneView
                      plane={plane}
                      outline={outlineOf(index)}
                      geometry={set.geometry}
                      large={false}
                    />
                    <span>
                      <b>{index + 1}</b> {result ? planeWords(outlineOf(index)) : ''}
                    </span>
                  </button>
                </li>
              ))}
            </ol>
            <div className={styles['well']}>
              <PlaneView plane={open} outline={outlineOf(shown)} geometry={set.geometry} large />
              <p>
                Plane {shown + 1} of {set.planes.length}. Small square: wall seen. Open square: faint. Open
                circle: drawn by guess.
              </p>
            </div>
            {result && result.planes.length > 0 ? (
              <BodyPlate geometry={set.geometry} outlines={result.planes} sumMl={result.volumeMl} />
            ) : null}
          </div>
          {result && result.answer !== 'refused' ? (
            <div className={styles['answer']}>
              <Plate title="Volume from these images">
                <p className={styles['figure']}>
                  {result.answer === 'none-seen' ? (
                    'no bladder seen'
                  ) : (
                    <>
                      {result.answer === 'at-least' ? <small>at least </small> : null}
                      {whole(
                        result.answer === 'at-least' ? (result.boundMl ?? 0) : (result.volumeMl ?? 0),
                      )}{' '}
                      <small>mL</small>
                    </>
                  )}
                </p>
                <p className="speak">
                  {result.answer === 'at-least'
                    ? `That much is in view. Completed by guess it is ${whole(result.volumeMl ?? 0)} mL. `
                    : ''}
                  {result.interval
                    ? `Nine times in ten between ${whole(result.interval.loMl)} and ${whole(result.interval.hiMl)} mL`
                    : 'No bladder was found. This does not exclude a full one that was missed'}
                  {result.interval &&
                  result.interval.loMl < facts.limitMl &&
                  result.interval.hiMl > facts.limitMl
                    ? `: on both sides of ${theirs(facts)} limit of ${whole(facts.limitMl)} mL.`
                    : '.'}
                </p>
              </Plate>
              <Plate title="Reasons to doubt it">
                {result.reasons.length === 0 ? (
                  <p className="speak">None was found. That does not exclude any.</p>
                ) : (
                  <ol className={`speak ${styles['reasons'] ?? ''}`}>
                    {result.reasons.map((one) => (
                      <li key={one.code}>{one.words}</li>
                    ))}
                  </ol>
                )}
              </Plate>
              {mayWrite(me.role, 'reading') ? (
                <div className={styles['keys']}>
                  <fieldset className={styles['relation']}>
                    <legend className="label">Before or after a void?</legend>
                    {relations.map(([word, label]) => (
                      <Key key={word} chosen={relation === word} onClick={() => setRelation(word)}>
                        {label}
                      </Key>
                    ))}
                  </fieldset>
                  <Key look="main" disabled={relation === undefined} onClick={() => void keep()}>
                    Keep as a reading: {resultWords(result).split(',')[0]}
                  </Key>
                  <KeyLink href={addressOf('entry', patient, 'reading')}>Measure again</KeyLink>
                  <Key onClick={() => setWork({})}>Set the images aside</Key>
                </div>
              ) : null}
            </div>
          ) : null}
        </div>
      ) : null}
      <KeyLink look="plain" href={addressOf('patient', patient)}>
        Back to the patient
      </KeyLink>
    </div>
  );
}

export default function ImagesPage({ path }: PageProps): ReactNode {
  const [patient] = path;
  const kept = useKept(patient);
  if (kept === 'waiting') return <p className="quiet">Fetching the record…</p>;
  if (patient === undefined || kept === 'not-here') {
    return <Empty>Images are looked at for one patient. Choose a patient on the board, then "Images".</Empty>;
  }
  return <Look key={patient} patient={patient} />;
}
