/** "Save as a DMN file" and "Open a DMN file" of the draft under edit. Nothing leaves the tablet. */
import { useState, type ReactNode } from 'react';
import { isRefusal, refuse, type Refusal } from '@ebbline/core/quantity';
import { Key } from '../../shared/key.tsx';
import { Plate, RefusalNotice } from '../../shared/plate.tsx';
import { draftFile, draftFileName, draftFromFile } from './draft-file.ts';
import type { Draft } from './draft.ts';
import styles from './draft-file.module.css';

/** The reader or writer could not be fetched, or the file could not be read from the tablet. */
const notHere = (): Refusal =>
  refuse('web/file-not-handled', {
    asked: 'DMN file',
    found: 'no way to read or write it on this tablet now',
    allowed: 'a DMN file on this tablet',
    todo: 'Connect to the network and try again. The draft is kept.',
  });

function save(name: string, xml: string): void {
  const link = document.createElement('a');
  link.href = URL.createObjectURL(new Blob([xml], { type: 'application/xml' }));
  link.download = name;
  link.click();
  URL.revokeObjectURL(link.href);
}

export function DraftFileKeys({
  draft,
  onOpen,
}: {
  readonly draft: Draft;
  readonly onOpen: (draft: Draft) => void;
}): ReactNode {
  const [refusal, setRefusal] = useState<Refusal>();
  const [said, setSaid] = useState('');
  const write = async (): Promise<void> => {
    const xml = await draftFile(draft).catch(notHere);
    setRefusal(isRefusal(xml) ? xml : undefined);
    setSaid('');
    if (!isRefusal(xml)) save(draftFileName(draft), xml);
  };
  const open = async (file: File): Promise<void> => {
    const next = await file
      .text()
      .then((xml) => draftFromFile(draft, xml))
      .catch(notHere);
    setRefusal(isRefusal(next) ? next : undefined);
    setSaid(isRefusal(next) ? '' : `Opened ${file.name}. Undo brings back what was here before.`);
    if (!isRefusal(next)) onOpen(next);
  };
  return (
    <Plate title="As a file" note="DMN 1.3, for any editor of decision tables">
      <div className={styles['file']}>
        <Key onClick={() => void write()}>Save as a DMN file</Key>
        <label className={styles['open']}>
          <span>Open a DMN file in place of this draft</span>
          <input
            type="file"
            accept=".dmn,.xml,application/xml"
            onChange={(event) => {
              const [file] = event.target.files ?? [];
              // The same file may be opened again after a correction.
              event.target.value = '';
              if (file) void open(file);
            }}
          />
        </label>
      </div>
      <output className="speak" data-opened>
        {said}
      </output>
      {refusal ? <RefusalNotice refusal={refusal} /> : null}
    </Plate>
  );
}
