export { modelOf, testText, type WrittenModel } from './model-of.ts';
export {
  foldVersions,
  inForce,
  nextVersion,
  protocolFor,
  protocolKept,
  protocolNow,
  versionOf,
  type ProtocolAct,
  type ProtocolVersion,
  type VersionState,
} from './versions.ts';
export { latestReviewDay, proofRefusal, signerRefusal, signingRefusal } from './signing.ts';
export { moveEntries, moveOffer, type MoveEntries, type MoveOffer } from './move.ts';
