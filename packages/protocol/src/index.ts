export * from './advice.ts';
export * from './dictionary.ts';
export * from './model.ts';
export { answerDecision, type DecisionAnswer } from './answer-decision.ts';
export { adviceLine, answerProtocol, shortestLookMin } from './answer-protocol.ts';
export { adviceDecision, compileProtocol, type CompiledProtocol } from './compile-protocol.ts';
export {
  answerTable,
  compileChain,
  compileTable,
  compileTest,
  testHolds,
  type CompiledTable,
  type CompiledTest,
  type Scalar,
} from './compile-table.ts';
export { diffModels, type Difference } from './diff-protocol.ts';
export { proveProtocol, type Fault, type ProtocolProof } from './prove-protocol.ts';
export { proofCache, proofContent } from './proof-cache.ts';
export {
  proveChain,
  proveTable,
  type Example,
  type TableGap,
  type TableOverlap,
  type TableProof,
} from './prove-table.ts';
export { stepMap, type MapBand, type MapCell, type StepMap } from './step-map.ts';
export { wholePatient } from './reachable.ts';
export { readDmn } from './read-dmn.ts';
export { writeDmn } from './write-dmn.ts';
export { brokenLaw, latestDueMin, safetyLaws } from './safety-laws.ts';
export { starterFor, starterProtocols } from './starters.ts';
export { adviseFrom, advicePayload, protocolInputOf, triggerOf } from './from-facts.ts';
export * from './life/index.ts';
export * from './words/index.ts';
export * from './sheet/index.ts';
