declare module '@cornerstonejs/codec-libjpeg-turbo-8bit/decode' {
  const factory: (
    options: object,
  ) => Promise<{ JPEGDecoder: new () => import('./decoders.ts').BufferDecoder }>;
  export default factory;
}
declare module '@cornerstonejs/codec-openjpeg/decode' {
  const factory: (
    options: object,
  ) => Promise<{ J2KDecoder: new () => import('./decoders.ts').BufferDecoder }>;
  export default factory;
}
declare module 'jpeg-lossless-decoder-js' {
  export class Decoder {
    decompress(buffer: ArrayBuffer, offset?: number, length?: number): ArrayBuffer;
  }
}
