/** What can be taken away from a look, one key a form. */
import { useState, type ReactNode } from 'react';
import { evidenceSentences } from '@ebbline/core/present';
import type { Directory, ImageEvidence } from '@ebbline/core/record';
import { instantInZone, type Refusal } from '@ebbline/core/quantity';
import type { VolumeResult } from '@ebbline/imaging';
import { Key } from '../../shared/key.tsx';
import { Plate, RefusalNotice } from '../../shared/plate.tsx';
import { nowMs } from '../../shell/clock.ts';
import { useReplica, useThisWard } from '../../shell/hooks.ts';
import { statesOf, type Desk } from './desk.ts';
import { resultWords } from './keep.ts';
import styles from './images.module.css';

export function ExportRow({
  desk,
  answer,
  evidence,
  directory,
}: {
  readonly desk: Desk;
  readonly answer: VolumeResult;
  /** Asked for when it is needed: it is too much to make at every move of a finger. */
  readonly evidence: () => ImageEvidence;
  readonly directory: Directory;
}): ReactNode {
  const replica = useReplica();
  const { zone } = useThisWard();
  const [refusal, setRefusal] = useState<Refusal>();
  const picture = async (): Promise<void> => {
    const { drawSheet, downloadSheet } = await import('./export-picture.ts');
    const canvas = document.createElement('canvas');
    drawSheet(canvas, desk.set.planes, desk.set.geometry, statesOf(desk), desk.history.machine, {
      volume: resultWords(answer),
      drawn: evidenceSentences(evidence(), directory),
      caution: 'For looking again. Advises only; not a medical device.',
    });
    await downloadSheet(canvas, 'planes.png');
  };
  const report = async (): Promise<void> => {
    const { downloadReport } = await import('./export-report.ts');
    const writtenAt = instantInZone(nowMs(), zone);
    const making = { writtenAt, zone, newId: () => replica.newId() };
    setRefusal(await downloadReport(answer, desk.set.geometry, evidence(), making));
  };
  return (
    <Plate title="Export" note="look first whether a name is burnt into the pictures">
      <div className={styles['acts']}>
        <Key onClick={() => void picture()}>Picture of the planes (PNG)</Key>
        <Key onClick={() => void report()}>DICOM report</Key>
      </div>
      {refusal ? <RefusalNotice refusal={refusal} /> : null}
    </Plate>
  );
}
