export { characterSets, decodeMessage, type Decoded } from './characters.ts';
export { frameOf, openFrames, type Framed, type Frames } from './frames.ts';
export {
  readMessage,
  segmentOf,
  segmentsOf,
  textAt,
  writeMessage,
  type Message,
  type Place,
  type Segment,
} from './message.ts';
export { answerTo, readAnswer, type Answer, type AnswerCode, type Fault, type Said } from './answer.ts';
export {
  keyOf,
  readPatientEvents,
  typeOf,
  type FeedIdentifier,
  type FeedPerson,
  type FeedPlace,
  type FeedSettings,
  type PatientEvent,
} from './patient-event.ts';
export { feedPatients, type FeedPatient, type FeedStay } from './feed-patients.ts';
export { feedEntries, mergeEntries, recordOf, type FeedEntriesInput } from './feed-entries.ts';
export { resultMessage, type ResultInput } from './result-message.ts';
