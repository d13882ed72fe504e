export { poseOf, readGeometry, type PlaneSetFile } from './geometry.ts';
export { readPlaneSet, readPng } from './read.ts';
