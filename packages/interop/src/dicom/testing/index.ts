export { join, packRle, sectorPicture, testFile, type TestFile } from './file.ts';
export { packedFrames, side, type PackedFrame } from './packed-frames.ts';
export { reportLines, reportOf, resultOf, type ReportLine } from './report.ts';
