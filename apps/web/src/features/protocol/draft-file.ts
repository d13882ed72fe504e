/** A draft as a DMN file, and a DMN file as the next step of a draft. What is opened can be undone like any other edit. */
import { isRefusal, refuse, type Refusal } from '@ebbline/core/quantity';
import { labels } from '@ebbline/core/present';
import type { WatchSetting } from '@ebbline/core/record';
import { compileProtocol, modelOf, readDmn, writeDmn, type CompiledProtocol } from '@ebbline/protocol';
import { numberOf, type Draft } from './draft.ts';

/** The draft as DMN XML that any DMN editor opens; opened again it is the same draft. */
export const draftFile = (draft: Draft): Promise<string | Refusal> => writeDmn(modelOf(draft.protocol));

export const draftFileName = ({ protocol }: Draft): string => `${protocol.id}-draft.dmn`;

const settingsOf = (protocol: CompiledProtocol): string =>
  protocol.settings.map((one) => labels.settings[one as WatchSetting]).join(', ');

/**
 * The draft with what a file says: title, tables, ages, the low residual. Its own name and number stay, since the file is
 * a step of this draft and no other protocol.
 *
 * Errors    those of `readDmn` and `compileProtocol` · web/other-setting. The draft is as it was then
 */
export async function draftFromFile(draft: Draft, xml: string): Promise<Draft | Refusal> {
  const model = await readDmn(xml);
  if (isRefusal(model)) return model;
  const read = compileProtocol(model);
  if (isRefusal(read)) return read;
  const { protocol } = draft;
  if ([...read.settings].sort().join() !== [...protocol.settings].sort().join())
    return refuse('web/other-setting', {
      asked: 'DMN file',
      found: `a protocol for: ${settingsOf(read)}`,
      allowed: `a protocol for: ${settingsOf(protocol)}`,
      todo: 'Make a draft of the protocol for that setting, and open the file there.',
    });
  const numbers = read.tables.flatMap((table) => table.rows.map((row) => numberOf(row.id)));
  return {
    ...draft,
    lastNumber: Math.max(draft.lastNumber, ...numbers),
    protocol: { ...read, id: protocol.id, version: protocol.version, approval: 'example-not-approved' },
  };
}
