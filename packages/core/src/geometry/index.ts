export * from './volume.ts';
export * from './coefficients.ts';
export * from './caliper-volume.ts';
export * from './polygon.ts';
export * from './convex-hull.ts';
export * from './layout-volume.ts';
export * from './mesh-volume.ts';
