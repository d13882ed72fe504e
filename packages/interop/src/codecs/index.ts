export {
  decodeJpeg,
  frameDecoder,
  type DecodedFrame,
  type FrameDecoder,
  type FrameFault,
  type FrameShape,
  type Samples,
} from './decoders.ts';
export { jpegHead } from './frame-head.ts';
export { decodeRle } from './rle.ts';
