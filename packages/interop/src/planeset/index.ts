export { poseOf, readGeometry, type PlaneSetFile } from './geometry.ts';
export { readPicture, readPlaneSet, readPng } from './read.ts';
