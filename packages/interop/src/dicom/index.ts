export { looksLikeDicom } from './part10.ts';
export { readUltrasound, type UltrasoundImage } from './read.ts';
export { pictureScale, scaleAtPoints, type PictureScale, type UltrasoundRegion } from './regions.ts';
export { planeSetOfImage, scaleCanBeGiven } from './plane-set.ts';
export { sourceOfImage } from './source-reference.ts';
export { writeReport, type VolumeReport } from './write-report.ts';
