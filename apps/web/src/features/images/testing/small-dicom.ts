/**
 * A small DICOM ultrasound file for tests: grey frames, explicit little endian, a calibrated region when asked for.
 *
 * Source    DICOM PS3.5 7.1, PS3.10 7.1 (S-dicom-ps3.5)
 */
type Element = readonly [group: number, element: number, vr: string, value: Uint8Array];

const text = (value: string): Uint8Array =>
  new TextEncoder().encode(value.length % 2 === 0 ? value : `${value}\0`);
const us = (value: number): Uint8Array => new Uint8Array(Uint16Array.of(value).buffer);
const ul = (value: number): Uint8Array => new Uint8Array(Uint32Array.of(value).buffer);
const fd = (value: number): Uint8Array => new Uint8Array(Float64Array.of(value).buffer);
const joined = (parts: readonly Uint8Array[]): Uint8Array =>
  Uint8Array.from(parts.flatMap((one) => [...one]));

function written(elements: readonly Element[]): Uint8Array {
  return joined(
    elements.map(([group, element, vr, value]) => {
      const long = ['OB', 'OW', 'SQ', 'UN'].includes(vr);
      const length = long ? joined([us(0), ul(value.length)]) : us(value.length);
      return joined([us(group), us(element), text(vr), length, value]);
    }),
  );
}

export interface SmallDicom {
  readonly width: number;
  readonly height: number;
  readonly frames: readonly Uint8Array[];
  /** Centimetres a pixel and the pixel where the beams meet; without it the file has no scale. */
  readonly region?: { readonly cm: number; readonly apexX: number; readonly apexY: number };
}

export function smallDicom({ width, height, frames, region }: SmallDicom): Uint8Array {
  const ultrasoundMultiFrame = text('1.2.840.10008.5.1.4.1.1.3.1');
  const syntax: Element = [0x0002, 0x0010, 'UI', text('1.2.840.10008.1.2.1')];
  const regionItem =
    region &&
    written([
      [0x0018, 0x6012, 'US', us(1)],
      [0x0018, 0x6014, 'US', us(1)],
      [0x0018, 0x6016, 'UL', ul(2)],
      [0x0018, 0x6018, 'UL', ul(0)],
      [0x0018, 0x601a, 'UL', ul(0)],
      [0x0018, 0x601c, 'UL', ul(width - 1)],
      [0x0018, 0x601e, 'UL', ul(height - 1)],
      [0x0018, 0x6020, 'SL', ul(region.apexX)],
      [0x0018, 0x6022, 'SL', ul(region.apexY)],
      [0x0018, 0x6024, 'US', us(3)],
      [0x0018, 0x6026, 'US', us(3)],
      [0x0018, 0x6028, 'FD', fd(0)],
      [0x0018, 0x602a, 'FD', fd(0)],
      [0x0018, 0x602c, 'FD', fd(region.cm)],
      [0x0018, 0x602e, 'FD', fd(region.cm)],
    ]);
  const regions: readonly Element[] = regionItem
    ? [[0x0018, 0x6011, 'SQ', joined([us(0xfffe), us(0xe000), ul(regionItem.length), regionItem])]]
    : [];
  const body = written([
    [0x0008, 0x0016, 'UI', ultrasoundMultiFrame],
    [0x0008, 0x0060, 'CS', text('US')],
    ...regions,
    [0x0028, 0x0002, 'US', us(1)],
    [0x0028, 0x0004, 'CS', text('MONOCHROME2 ')],
    [0x0028, 0x0008, 'IS', text(String(frames.length))],
    [0x0028, 0x0010, 'US', us(height)],
    [0x0028, 0x0011, 'US', us(width)],
    [0x0028, 0x0100, 'US', us(8)],
    [0x0028, 0x0101, 'US', us(8)],
    [0x0028, 0x0102, 'US', us(7)],
    [0x0028, 0x0103, 'US', us(0)],
    [0x7fe0, 0x0010, 'OB', joined(frames)],
  ]);
  const head = written([syntax]);
  const meta = joined([written([[0x0002, 0x0000, 'UL', ul(head.length)]]), head]);
  return joined([new Uint8Array(128), text('DICM'), meta, body]);
}
