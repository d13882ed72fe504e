/**
 * JPEG-LS, lossless and near-lossless, by the standard's own steps. Written here because the work is bounded by the size
 * of the picture whatever the bytes say: a damaged stream ends the decoding, it can not lead it astray.
 *
 * In        one whole stream; the size must have been compared with `jpegHead`
 * Out       samples of 8 or 16 bits; component after component where the scans stand so
 * Domain    1 to 4 components of 2 to 16 bits; no restart intervals, mapping tables or colour transforms
 * Source    ISO/IEC 14495-1 annexes A, C and G (S-jpeg-ls)
 */
import { BitReader, ScanCoder, type ScanSettings } from './jpeg-ls-scan.ts';

export interface JpegLsPicture {
  readonly samples: Uint8Array | Uint16Array;
  readonly planar: boolean;
}

interface Presets {
  readonly maximum: number;
  readonly thresholds: readonly [number, number, number];
  readonly reset: number;
}

const mostPresetSegments = 64;

export function decodeJpegLs(bytes: Uint8Array): JpegLsPicture | undefined {
  const word = (at: number): number => ((bytes[at] ?? 0) << 8) | (bytes[at + 1] ?? 0);
  let at = 2;
  let size: { bits: number; width: number; height: number; components: number } | undefined;
  let presets: Presets = { maximum: 0, thresholds: [0, 0, 0], reset: 0 };
  let out: Uint8Array | Uint16Array | undefined;
  let planar = false;
  let done = 0;
  for (let segment = 0; segment < mostPresetSegments && at + 4 <= bytes.length; segment += 1) {
    if (bytes[at] !== 0xff) return undefined;
    const marker = bytes[at + 1] as number;
    if (marker === 0xd9) break;
    const length = word(at + 2);
    const next = at + 2 + length;
    if (length < 2 || next > bytes.length) return undefined;
    if (marker === 0xf7) {
      if (size) return undefined;
      size = {
        bits: bytes[at + 4] ?? 0,
        height: word(at + 5),
        width: word(at + 7),
        components: bytes[at + 9] ?? 0,
      };
      if (size.bits < 2 || size.bits > 16 || size.components < 1 || size.components > 4) return undefined;
      const count = size.width * size.height * size.components;
      if (count === 0) return undefined;
      out = size.bits > 8 ? new Uint16Array(count) : new Uint8Array(count);
    } else if (marker === 0xf8) {
      // Tables that map samples to other values, and pictures over 65 535 wide, are not ultrasound's.
      if (bytes[at + 4] !== 1 || length < 13) return undefined;
      presets = {
        maximum: word(at + 5),
        thresholds: [word(at + 7), word(at + 9), word(at + 11)],
        reset: word(at + 13),
      };
    } else if (marker === 0xda) {
      if (!size || !out) return undefined;
      const count = bytes[at + 4] ?? 0;
      const near = bytes[at + 5 + 2 * count] ?? 0;
      const interleave = bytes[at + 6 + 2 * count] ?? 0;
      const pointTransform = bytes[at + 7 + 2 * count] ?? 0;
      const alone = count === 1;
      if (length !== 6 + 2 * count || pointTransform !== 0 || interleave > 2) return undefined;
      if (!alone && (count !== size.components || interleave === 0)) return undefined;
      if (done + count > size.components) return undefined;
      const settings = settingsOf(size.bits, near, presets);
      if (!settings) return undefined;
      const reader = new BitReader(bytes, next);
      const coder = new ScanCoder(settings, reader, size.width, count);
      // A scan of one component fills its plane; a scan of several fills pixel after pixel.
      const pixels = size.width * size.height;
      planar = alone && size.components > 1;
      const target = alone ? out.subarray(done * pixels, (done + 1) * pixels) : out;
      const whole =
        interleave === 2 && !alone ? coder.bySample(target, size.height) : coder.byLine(target, size.height);
      if (!whole) return undefined;
      done += count;
      at = reader.nextMarker();
      continue;
    } else if (marker === 0xdd || marker === 0xe8) return undefined;
    at = next;
  }
  return size && out && done === size.components ? { samples: out, planar } : undefined;
}

/** The settings of a scan: as preset, else by the standard's defaults (C.2.4.1). */
function settingsOf(bits: number, near: number, presets: Presets): ScanSettings | undefined {
  const maximum = presets.maximum === 0 ? 2 ** bits - 1 : presets.maximum;
  if (maximum < 1 || maximum >= 2 ** bits || near > Math.min(255, maximum >> 1)) return undefined;
  const clamp = (value: number, least: number): number => (value > maximum || value < least ? least : value);
  const [basic1, basic2, basic3] = [3, 7, 21];
  const usual = (basic: number, offset: number, scale: number): number => {
    if (maximum >= 128) {
      const factor = (Math.min(maximum, 4095) + 128) >> 8;
      return factor * (basic - offset) + offset + scale * near;
    }
    const factor = Math.floor(256 / (maximum + 1));
    return Math.max(offset, Math.floor(basic / factor) + scale * near);
  };
  const [preset1, preset2, preset3] = presets.thresholds;
  const first = preset1 === 0 ? clamp(usual(basic1, 2, 3), near + 1) : preset1;
  const second = preset2 === 0 ? clamp(usual(basic2, 3, 5), first) : preset2;
  const third = preset3 === 0 ? clamp(usual(basic3, 4, 7), second) : preset3;
  const reset = presets.reset === 0 ? 64 : presets.reset;
  const ordered = near < first && first <= second && second <= third && third <= maximum;
  return ordered && reset >= 3 ? { maximum, near, thresholds: [first, second, third], reset } : undefined;
}
