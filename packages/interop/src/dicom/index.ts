export { looksLikeDicom } from './part10.ts';
export { readUltrasound, type UltrasoundImage } from './read.ts';
export { pictureScale, scaleAtPoints, type PictureScale, type UltrasoundRegion } from './regions.ts';
export { planeSetOfImage } from './plane-set.ts';
