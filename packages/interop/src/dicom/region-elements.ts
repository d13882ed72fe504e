/**
 * The Sequence of Ultrasound Regions as plain values. What is missing comes out as a value that no rule accepts.
 *
 * Source    DICOM PS3.3 C.8.5.5 (S-dicom-ps3.3)
 */
import { float64, int32, itemsOf, uint16, uint32, type DataSet } from './elements.ts';
import type { UltrasoundRegion } from './regions.ts';

const mostRegions = 64;

/** Regions in the order of the file; undefined when the sequence can not be read or has more than a picture needs. */
export function readRegions(data: DataSet): readonly UltrasoundRegion[] | undefined {
  if (!data.elements.has(0x0018_6011)) return [];
  const items = itemsOf(data, 0x0018_6011);
  return items && items.length <= mostRegions ? items.map(readRegion) : undefined;
}

function readRegion(item: DataSet): UltrasoundRegion {
  const x = int32(item, 0x0018_6020);
  const y = int32(item, 0x0018_6022);
  const cmX = float64(item, 0x0018_6028);
  const cmY = float64(item, 0x0018_602a);
  const placed =
    x !== undefined &&
    y !== undefined &&
    cmX !== undefined &&
    cmY !== undefined &&
    Number.isFinite(cmX) &&
    Number.isFinite(cmY);
  return {
    spatialFormat: uint16(item, 0x0018_6012) ?? -1,
    dataType: uint16(item, 0x0018_6014) ?? -1,
    flags: uint32(item, 0x0018_6016) ?? 0,
    minX: uint32(item, 0x0018_6018) ?? -1,
    minY: uint32(item, 0x0018_601a) ?? -1,
    maxX: uint32(item, 0x0018_601c) ?? -1,
    maxY: uint32(item, 0x0018_601e) ?? -1,
    unitsX: uint16(item, 0x0018_6024) ?? -1,
    unitsY: uint16(item, 0x0018_6026) ?? -1,
    deltaX: float64(item, 0x0018_602c) ?? 0,
    deltaY: float64(item, 0x0018_602e) ?? 0,
    ...(placed ? { reference: { x, y, cmX, cmY } } : {}),
  };
}
