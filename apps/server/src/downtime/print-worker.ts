// Makes and writes a ward's sheets beside the server's own thread: no board waits for a PDF, and a share that hangs holds
// up this thread alone.
import { parentPort } from 'node:worker_threads';
import { RefusalError } from '@ebbline/core/quantity';
import { inWords } from '../keeping/disk.ts';
import { sheetsOf, type WardPrint } from './sheets.ts';
import { writeSet, type SetToWrite } from './write-set.ts';

export interface PrintJob {
  readonly print: WardPrint;
  readonly to: SetToWrite;
}
export type PrintAnswer =
  | { readonly path: string; readonly files: number }
  | { readonly code: string; readonly found: string };

async function printed({ print, to }: PrintJob): Promise<PrintAnswer> {
  try {
    const sheets = await sheetsOf(print);
    return { path: await writeSet(to, sheets), files: sheets.length };
  } catch (problem) {
    const said = inWords(problem);
    // The words of any other error may quote what it read: its name is enough.
    return said instanceof RefusalError
      ? { code: said.refusal.code, found: said.refusal.found }
      : { code: 'downtime/failed', found: `a print that broke off (${(problem as Error).name})` };
  }
}

parentPort?.on(
  'message',
  (job: PrintJob) => void printed(job).then((answer) => parentPort?.postMessage(answer)),
);
