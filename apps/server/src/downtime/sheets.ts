/**
 * What a ward works from while the tool is away, as files: the board, the due list, every protocol that its watches go
 * by, and the empty forms of the bedside on A4 and on Letter.
 */
import { calendarDay } from '@ebbline/core/quantity';
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

const made = new Map<string, Uint8Array>();
const mostMade = 2_000;

/** Empty forms stay as they are, and a protocol's sheet for the day: a stop of the server waits for boards alone. */
async function once(of: readonly string[], make: () => Promise<Uint8Array>): Promise<Uint8Array> {
  const key = JSON.stringify(of);
  const before = made.get(key);
  if (before) return before;
  if (made.size >= mostMade) made.clear();
  const bytes = await make();
  made.set(key, bytes);
  return bytes;
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
  const today = calendarDay(printedAtMs, zone);
  const sheets: Sheet[] = [
    { name: '1-board.pdf', bytes: await wardPdf(board) },
    { name: '2-due-list.pdf', bytes: await dueListPdf(board) },
  ];
  for (const protocol of protocols)
    sheets.push({
      name: `3-protocol-${encodeURIComponent(protocol.id)}-${protocol.version}.pdf`,
      bytes: await once(['protocol', protocol.id, String(protocol.version), zone, today], () =>
        flowSheetPdf({ protocol, zone, printedAtMs }),
      ),
    });
  sheets.push(
    ...(await Promise.all(
      (['A4', 'LETTER'] as const).map(async (size) => ({
        name: size === 'A4' ? '4-form.pdf' : '4-form-letter.pdf',
        bytes: await once([size, ward.name, zone, ...form.scanners], () => entryFormPdf({ ...form, size })),
      })),
    )),
  );
  return sheets;
}
