/**
 * What a ward works from while the tool is away, as files: the board, the due list, every protocol that its watches go
 * by, and the empty forms of the bedside on A4 and on Letter.
 */
import type { WardFacts } from '@ebbline/core/facts';
import type { Directory, Ward } from '@ebbline/core/record';
import { dueListPdf, entryFormPdf, flowSheetPdf, nextShiftChangeMs, wardPdf } from '@ebbline/interop/pdf';
import type { CompiledProtocol } from '@ebbline/protocol';

/** One ward's sheets, as plain data that can be handed to another thread. */
export interface WardPrint {
  readonly ward: Ward;
  readonly facts: WardFacts;
  readonly directory: Directory;
  readonly protocols: readonly CompiledProtocol[];
  readonly printedAtMs: number;
}

export interface Sheet {
  readonly name: string;
  readonly bytes: Uint8Array;
}

export async function sheetsOf(print: WardPrint): Promise<readonly Sheet[]> {
  const { ward, facts, directory, protocols, printedAtMs } = print;
  const { zone } = ward;
  const voidAfterMs = nextShiftChangeMs(directory, ward.id, printedAtMs, zone);
  const board = { ward: facts, directory, zone, printedAtMs, voidAfterMs };
  const form = {
    ward: ward.name,
    scanners: directory.scanners.filter((one) => one.ward === ward.id).map(({ name }) => name),
    zone,
    printedAtMs,
  };
  const sheets: Sheet[] = [
    { name: '1-board.pdf', bytes: await wardPdf(board) },
    { name: '2-due-list.pdf', bytes: await dueListPdf(board) },
  ];
  for (const protocol of protocols)
    sheets.push({
      name: `3-protocol-${encodeURIComponent(protocol.id)}-${protocol.version}.pdf`,
      bytes: await flowSheetPdf({ protocol, zone, printedAtMs }),
    });
  sheets.push(
    { name: '4-form.pdf', bytes: await entryFormPdf(form) },
    { name: '4-form-letter.pdf', bytes: await entryFormPdf({ ...form, size: 'LETTER' }) },
  );
  return sheets;
}
