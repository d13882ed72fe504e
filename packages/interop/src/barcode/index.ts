export { resultBarcode, type ResultBarcode } from './result-barcode.ts';
export { resultBarcodePng } from './result-barcode-png.ts';
