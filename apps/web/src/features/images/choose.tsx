/** Choosing the files of one look: dropped, picked one by one, or as a folder. */
import { useEffect, useState, type ReactNode } from 'react';
import { Key } from '../../shared/key.tsx';
import styles from './images.module.css';

/** The files of a drop, with those of dropped folders, one level down. */
async function filesOfDrop(items: DataTransferItemList): Promise<readonly File[]> {
  const entries = [...items].flatMap((item) => item.webkitGetAsEntry() ?? []);
  // What comes from another program as a plain file has no entry.
  const plain = [...items].flatMap((item) => (item.webkitGetAsEntry() ? [] : (item.getAsFile() ?? [])));
  const fileOf = (entry: FileSystemEntry): Promise<File | undefined> =>
    new Promise((resolve) => {
      if (!entry.isFile) return resolve(undefined);
      (entry as FileSystemFileEntry).file(resolve, () => resolve(undefined));
    });
  const inside = (folder: FileSystemDirectoryEntry): Promise<readonly FileSystemEntry[]> =>
    new Promise((resolve) => {
      const all: FileSystemEntry[] = [];
      const reader = folder.createReader();
      // A reader gives a folder in parts and says with an empty part that it is through.
      const next = (): void =>
        reader.readEntries(
          (part) => {
            all.push(...part);
            if (part.length === 0) resolve(all);
            else next();
          },
          () => resolve(all),
        );
      next();
    });
  const flat = await Promise.all(
    entries.map(async (entry) =>
      entry.isDirectory ? await inside(entry as FileSystemDirectoryEntry) : [entry],
    ),
  );
  const files = await Promise.all(flat.flat().map(fileOf));
  return [...plain, ...files.filter((one) => one !== undefined)];
}

export function Choose({
  folded,
  take,
}: {
  /** Images are here already: the boxes are one key until they are asked for. */
  readonly folded: boolean;
  readonly take: (files: readonly File[]) => void;
}): ReactNode {
  const [asked, setAsked] = useState(false);
  const [over, setOver] = useState(false);
  // Anywhere on the page, so that nobody has to aim, and no file replaces the page by a miss.
  useEffect(() => {
    const onOver = (event: DragEvent): void => {
      event.preventDefault();
      setOver(true);
    };
    const onLeave = (event: DragEvent): void => {
      if (event.relatedTarget === null) setOver(false);
    };
    const onDrop = (event: DragEvent): void => {
      event.preventDefault();
      setOver(false);
      if (event.dataTransfer) void filesOfDrop(event.dataTransfer.items).then(take);
    };
    addEventListener('dragover', onOver);
    addEventListener('dragleave', onLeave);
    addEventListener('drop', onDrop);
    return () => {
      removeEventListener('dragover', onOver);
      removeEventListener('dragleave', onLeave);
      removeEventListener('drop', onDrop);
    };
  }, [take]);
  const given = (files: readonly File[]): void => {
    setAsked(false);
    take(files);
  };
  if (folded && !asked) {
    return (
      <div className={styles['acts']}>
        <Key onClick={() => setAsked(true)}>Choose other images</Key>
      </div>
    );
  }
  return (
    <section className={styles['choose']} aria-label="Files of one look" data-over={over}>
      <label className={styles['file']}>
        <span>Choose files: one DICOM file, or PNG or JPEG pictures. Or drop them here.</span>
        <input
          type="file"
          multiple
          data-files=""
          onChange={(event) => event.target.files && given([...event.target.files])}
        />
      </label>
      <label className={styles['file']}>
        <span>Or a folder: its pictures and their geometry.json</span>
        <input
          type="file"
          {...{ webkitdirectory: '' }}
          onChange={(event) => event.target.files && given([...event.target.files])}
        />
      </label>
    </section>
  );
}
