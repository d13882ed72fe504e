/**
 * `#/images/<patient>`: a second look at the pictures of one look. The program outlines, says a volume with its interval
 * and every reason to doubt it; a person moves what is wrong and keeps it as a reading, or sets it aside. Nothing leaves the
 * tablet but the reading and its outlines.
 */
import { useCallback, useDeferredValue, useEffect, useMemo, useRef, useState, type ReactNode } from 'react';
import { instantInZone, isRefusal, type Refusal } from '@ebbline/core/quantity';
import { mayWrite, type ImageEvidence } from '@ebbline/core/record';
import type { PlaneSet, TraceOptions, VolumeResult } from '@ebbline/imaging';
import { useKept } from '../../shared/bedside/use-kept.ts';
import { BodyPlate } from '../../shared/body/body-plate.tsx';
import { Key, KeyLink } from '../../shared/key.tsx';
import { outlinesOf } from '../../shared/planes/edit-history.ts';
import type { EditableOutline } from '../../shared/planes/outline-edit.ts';
import { SmallPlane } from '../../shared/planes/small-plane.tsx';
import { Empty, RefusalNotice } from '../../shared/plate.tsx';
import { addressOf } from '../../shell/address.ts';
import { nowMs } from '../../shell/clock.ts';
import { useDirectory, useFacts, useMe, useThisWard } from '../../shell/hooks.ts';
import type { PageProps } from '../../shell/page.ts';
import { Answer } from './answer.tsx';
import { geometryByHand, scaleByHand, type ByHand } from './by-hand.ts';
import { Choose } from './choose.tsx';
import { answerOf, changedPlanes, deskFor, pointedDesk, type Desk } from './desk.ts';
import { DiametersOnPictures } from './diameters.tsx';
import { ExportRow } from './export-row.tsx';
import { getWorkerReady, readInWorker, traceInWorker } from './in-worker.ts';
import { evidenceOf, readingFrom, resultWords } from './keep.ts';
import { Missing } from './missing.tsx';
import type { Pictures } from './pictures.ts';
import { PlanesDesk } from './planes-desk.tsx';
import { useKeep } from './use-keep.ts';
import styles from './images.module.css';

interface Work {
  readonly pictures?: Pictures;
  /** What a person gave last for these pictures. */
  readonly byHand?: ByHand;
  readonly desk?: Desk;
  /** Where three diameters are measured: the scale they are measured with. */
  readonly diameters?: PlaneSet['geometry']['mmPerPx'];
  readonly refusal?: Refusal;
  /** 0 to 1 while it runs; what runs, in a word. */
  readonly running?: { readonly what: string; readonly share: number };
}

function Look({ patient }: { readonly patient: string }): ReactNode {
  const facts = useFacts(patient);
  const ward = useThisWard();
  const directory = useDirectory();
  const me = useMe();
  const keepReading = useKeep(patient);
  const [work, setWork] = useState<Work>({});
  const [shown, setShown] = useState(0);
  const stop = useRef<() => void>(undefined);
  useEffect(() => {
    getWorkerReady();
    return () => stop.current?.();
  }, []);
  const mayKeep = mayWrite(me.role, 'reading');

  const trace = async (set: PlaneSet, rest: Work, seed?: TraceOptions['seed']): Promise<void> => {
    stop.current?.();
    const what = 'Looking for the outline';
    setWork({ ...rest, running: { what, share: 0 } });
    const job = traceInWorker(
      set,
      (share) => setWork((now) => (now.running ? { ...now, running: { what, share } } : now)),
      seed,
    );
    stop.current = job.stop;
    const result = await job.done;
    const { refusal: _refusal, ...kept } = rest;
    const refused = isRefusal(result) ? result : seed ? result.refusal : undefined;
    // Pointing that leads to nothing leaves the outlines as they were.
    if (refused || isRefusal(result)) return setWork({ ...kept, ...(refused ? { refusal: refused } : {}) });
    setWork({
      ...kept,
      desk: seed && rest.desk ? pointedDesk(rest.desk, result) : deskFor(set, result),
    });
  };
  const take = async (list: readonly File[]): Promise<void> => {
    stop.current?.();
    // What was on the desk stays until other pictures have been read: a wrong file costs nothing.
    const { refusal: _refusal, running: _running, ...before } = work;
    setWork({ ...before, running: { what: 'Reading the files', share: 0 } });
    const files = await Promise.all(
      list.map(async (file) => ({ name: file.name, bytes: new Uint8Array(await file.arrayBuffer()) })),
    );
    const job = readInWorker(files);
    stop.current = job.stop;
    const pictures = await job.done;
    if (isRefusal(pictures)) return setWork({ ...before, refusal: pictures });
    setShown(0);
    if (!pictures.geometry) return setWork({ pictures });
    await trace({ planes: pictures.planes, geometry: pictures.geometry }, { pictures });
  };
  const given = async (pictures: Pictures, byHand: ByHand): Promise<void> => {
    const { poseOf } = await import('@ebbline/interop/planeset');
    const geometry = geometryByHand(pictures, byHand, poseOf);
    if (isRefusal(geometry)) return setWork({ pictures, byHand, refusal: geometry });
    await trace({ planes: pictures.planes, geometry }, { pictures, byHand });
  };
  const measure = (pictures: Pictures, byHand: ByHand): void => {
    const mmPerPx = pictures.known.mmPerPx ?? scaleByHand(byHand);
    setWork({ pictures, byHand, ...(isRefusal(mmPerPx) ? { refusal: mmPerPx } : { diameters: mmPerPx }) });
  };
  const giveUp = (): void => {
    stop.current?.();
    setWork(({ running: _running, ...rest }) => (rest.desk || !rest.pictures?.geometry ? rest : {}));
  };

  const { pictures, desk, diameters, refusal, running } = work;
  const setDesk = useCallback(
    (next: Desk) => setWork((now) => (now.desk ? { ...now, desk: next } : now)),
    [],
  );
  const setDraft = useCallback(
    (draft: EditableOutline | undefined) =>
      setWork((now) => (now.desk ? { ...now, desk: { ...now.desk, draft } } : now)),
    [],
  );
  const answer = useMemo(() => (desk ? answerOf(desk) : undefined), [desk]);
  // The body follows when a finger is lifted: number and outline under the finger come first.
  const { set, program, history } = desk ?? {};
  const step = useDeferredValue(history);
  const body = useMemo(() => {
    if (!set || !program || step?.now.length !== set.planes.length) return null;
    const outlines = outlinesOf(step.now);
    if (outlines.length === 0) return null;
    const { volumeMl } = answerOf({ set, program, pointedAt: false, history: step });
    return <BodyPlate geometry={set.geometry} outlines={outlines} sumMl={volumeMl} />;
  }, [set, program, step]);
  const known = pictures?.known ?? {};
  const evidenceNow = (at: Desk, said: VolumeResult): ImageEvidence =>
    evidenceOf(at, said, { who: me.id, at: instantInZone(nowMs(), ward.zone), known });
  const changed = desk ? changedPlanes(desk).length : 0;

  return (
    <div className={styles['page']}>
      <h1>Second look at the images</h1>
      <p className="label">
        Bed {facts.bed}, {facts.initials.replace(/\.$/, '')}. The pictures stay on this tablet and are
        forgotten when the page is left; a reading keeps their outlines.
      </p>
      <Choose folded={pictures !== undefined} take={(files) => void take(files)} />
      {running ? (
        <div className={styles['running']}>
          <span>{running.what}…</span>
          <progress max={1} value={running.share} aria-label={running.what} />
          <Key onClick={giveUp}>Stop</Key>
        </div>
      ) : null}
      {refusal && !(pictures && !desk && !diameters) ? (
        <>
          <RefusalNotice refusal={refusal} />
          {mayKeep && !desk ? (
            <div className={styles['acts']}>
              <KeyLink href={addressOf('entry', patient, 'calipers')}>Enter three diameters</KeyLink>
              <KeyLink href={addressOf('entry', patient, 'reading')}>Enter the volume</KeyLink>
            </div>
          ) : null}
        </>
      ) : null}
      {pictures && running && !desk && !diameters ? (
        <ol className={styles['strip']} aria-label="Planes">
          {pictures.planes.map((plane, index) => (
            <li key={index}>
              <SmallPlane plane={plane} />
            </li>
          ))}
        </ol>
      ) : null}
      {pictures && diameters ? (
        <DiametersOnPictures
          pictures={pictures}
          mmPerPx={diameters}
          me={me.id}
          mayKeep={mayKeep}
          keep={keepReading}
          back={() => setWork(({ diameters: _diameters, ...rest }) => rest)}
        />
      ) : pictures && !desk && !running ? (
        <Missing
          pictures={pictures}
          start={work.byHand}
          refusal={refusal}
          onGiven={(byHand) => void given(pictures, byHand)}
          onDiameters={(byHand) => measure(pictures, byHand)}
        />
      ) : null}
      {desk && answer && !diameters ? (
        <div className={`${styles['columns'] ?? ''} ${styles['looking'] ?? ''}`}>
          <PlanesDesk
            desk={desk}
            answer={answer}
            mayEdit={mayKeep && !running}
            shown={shown}
            setShown={setShown}
            setDesk={setDesk}
            setDraft={setDraft}
            pointAt={(seed) => void trace(desk.set, { ...work }, seed)}
          >
            <Key onClick={() => setWork({ ...work, diameters: desk.set.geometry.mmPerPx })}>
              Measure three diameters instead
            </Key>
          </PlanesDesk>
          <Answer
            result={answer}
            changed={changed === 0 ? '' : `${changed} of ${desk.set.planes.length} planes changed by hand.`}
            patient={patient}
            facts={facts}
            mayKeep={mayKeep}
            keep={(relation) => {
              const payload = readingFrom(answer, relation, me.id, evidenceNow(desk, answer));
              if (isRefusal(payload)) setWork({ ...work, refusal: payload });
              else
                void keepReading(payload, `reading from images, ${resultWords(answer)}`).then(
                  (why) => why && setWork({ ...work, refusal: why }),
                );
            }}
            setAside={() => setWork({})}
          />
          <div className={styles['body']}>{body}</div>
          <div className={styles['export']}>
            <ExportRow
              desk={desk}
              answer={answer}
              evidence={() => evidenceNow(desk, answer)}
              directory={directory}
            />
          </div>
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
