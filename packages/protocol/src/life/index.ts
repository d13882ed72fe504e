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
export {
  latestReviewDay,
  proofRefusal,
  reviewState,
  signerRefusal,
  signingRefusal,
  type ReviewState,
} from './signing.ts';
export { approvalWords, reviewWords } from './approval-words.ts';
