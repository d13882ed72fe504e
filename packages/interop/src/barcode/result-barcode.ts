/**
 * The mark on a printed result or label by which the entry is found again: a plain Data Matrix holding the entry's id
 * and nothing else. No name, no number, no volume: a label that is lost tells nothing.
 *
 * In        an entry's id (UUID); anything else is refused, so that no patient data can slip in
 * Out       SVG text, and PNG bytes for places that can't draw
 * Errors    `barcode/not-opaque`
 * Source    S-data-matrix
 */
import { toSVG } from 'bwip-js/generic';
import { controlIsOn, isEntryId, refuse, type Refusal } from '@ebbline/core/quantity';

const quietZone = 4; // in the writer's units of half a module at scale 2: two modules, twice what S-data-matrix asks

export const barcodeOptions = (text: string, scale: number) =>
  ({
    bcid: 'datamatrix',
    text,
    scale,
    padding: quietZone,
    backgroundcolor: 'FFFFFF',
    barcolor: '000000',
  }) as const;

/** The id when it is one, or why not. */
export function checkOpaque(opaqueId: string): string | Refusal {
  const { length } = opaqueId;
  if (isEntryId(opaqueId) || !controlIsOn('H21-opaque-label')) return opaqueId;
  return refuse('barcode/not-opaque', {
    asked: 'Label',
    found: `${length} characters that are no entry id`,
    allowed: 'the id of an entry (UUID), which says nothing about the patient',
    todo: 'Print the label from the entry.',
  });
}

export interface ResultBarcode {
  readonly svg: string;
  /** What a reader gives back. */
  readonly text: string;
}

export function resultBarcode({ opaqueId }: { readonly opaqueId: string }): ResultBarcode | Refusal {
  const text = checkOpaque(opaqueId);
  return typeof text === 'string' ? { svg: toSVG(barcodeOptions(text, 2)), text } : text;
}
