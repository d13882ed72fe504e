/**
 * The pictures of one look as they were read, with what their files say of scale, sector and layout. What is missing is
 * asked of the person, never taken for granted.
 */
import type { GreyPlane, Layout, PlaneSetGeometry } from '@ebbline/imaging';
import type { SectorPx } from './find-sector.ts';

/**
 * Where the beams meet is not among them: the origin that a DICOM region states may be the skin, not the apex of the fan, so
 * the fan is read off the picture and confirmed by the person.
 */
export interface Known {
  readonly mmPerPx?: PlaneSetGeometry['mmPerPx'];
  readonly layout?: Layout;
  readonly positions?: readonly number[];
}

export interface Pictures {
  readonly planes: readonly GreyPlane[];
  /** Whole, when the files say everything. */
  readonly geometry?: PlaneSetGeometry;
  readonly known: Known;
  /** The fan as it was found in the pictures, where it has to be asked for. */
  readonly fan?: SectorPx;
}
