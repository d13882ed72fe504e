/**
 * The pictures of one look as they were read, with what their files say of scale, sector and layout. What is missing is
 * asked of the person, never taken for granted.
 */
import type { GreyPlane, Layout, PlaneSetGeometry } from '@ebbline/imaging';

export interface Known {
  readonly mmPerPx?: PlaneSetGeometry['mmPerPx'];
  readonly apexPx?: PlaneSetGeometry['apexPx'];
  readonly sector?: PlaneSetGeometry['sector'];
  readonly layout?: Layout;
  readonly positions?: readonly number[];
}

export interface Pictures {
  readonly planes: readonly GreyPlane[];
  /** Whole, when the files say everything. */
  readonly geometry?: PlaneSetGeometry;
  readonly known: Known;
}
