export * from './model.ts';
export { readDmn } from './read-dmn.ts';
export { answerDecision, type DecisionAnswer } from './answer-decision.ts';
