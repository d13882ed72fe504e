import type { UnitFactors } from '../filling/index.ts';
import type { Lengthening } from './lengthening.ts';

/**
 * What a unit decides for itself. Every limit that the product uses stands here, with where its default comes
 * from; a unit replaces any of them. Nothing clinical is fixed in code elsewhere.
 */
export interface UnitSettings {
  /** Minutes after a due time before a look counts as overdue. */
  readonly graceMin: number;
  /** Minutes after the grace before an unanswered item is put to the charge nurse, then to the unit's notice. */
  readonly climbToChargeMin: number;
  readonly climbToNoticeMin: number;
  /** Action volume where the person's own capacity is not known, mL. */
  readonly unitLimitMl: number;
  /** A person's own limit may lie only between these, mL. */
  readonly ownLimitLowestMl: number;
  readonly ownLimitHighestMl: number;
  /** A residual taken later than this after the void is late, min. */
  readonly residualWithinMin: number;
  /** A reading and a drained volume at most so far apart make an agreement pair, min. */
  readonly pairWithinMin: number;
  /** Two readings so near in time and volume, by the same scanner, may be one, min and mL. */
  readonly duplicateWithinMin: number;
  readonly duplicateWithinMl: number;
  /** A void smaller than this does not count as emptying, mL. */
  readonly smallVoidMl: number;
  /** A residual under this is low, mL; so many in a row may end a watch. */
  readonly lowResidualMl: number;
  readonly lowResidualsToEnd: number;
  /** The forecast brings a look forward when the chance of being over the limit reaches this. */
  readonly overLimitTolerance: number;
  /** It does so only when it gains at least this, so that due times do not jump by a minute or two, min. */
  readonly forwardAtLeastMin: number;
  /** Chance band within which a reading's error leaves the step open. */
  readonly tossUpLow: number;
  readonly tossUpHigh: number;
  /** Share of a reading's error that a repeat has in common with it: by the same person, and by somebody else. */
  readonly repeatSharedShare: number;
  readonly repeatSharedByOtherShare: number;
  /** Minutes until an unanswered call is put to the next on the ladder. */
  readonly callReplyMin: number;
  /** Local hour at which catheter-days are counted. */
  readonly catheterCountHour: number;
  /** Assumed filling range for plain arithmetic, mL/h. */
  readonly plainRateLowMlPerH: number;
  readonly plainRateHighMlPerH: number;
  /** Seconds of no touch before a shared tablet locks. */
  readonly lockAfterS: number;
  /** 1 lets a badge alone open a tablet that is in use; 0 asks for the PIN too. */
  readonly badgeAloneOpens: number;
  /**
   * Hours since the record was last reached for which a tablet keeps what can be read, and for which somebody whom it
   * knows may open it without the network; 0 asks for the network each time.
   */
  readonly offlineForH: number;
  /** So many wrong PINs of a person, and three times as many in all, end opening without the network. */
  readonly offlineTriesAtMost: number;
  /** A drained volume under this share of the reading before it is "read much, drained little". */
  readonly falseHighShare: number;
  /** A volume is asked about before it is saved when a slip, a bad look or a second charting is at least so likely. */
  readonly questionFrom: number;
  /** The forecast may lengthen an interval once so many pairs were seen on the ward, and the 95 % interval of its hits begins here. */
  readonly lengthenPairsAtLeast: number;
  readonly lengthenHitsAtLeast: number;
  /** Days after which that signature ends by itself. */
  readonly lengthenForDays: number;
  /** A signed protocol is to be looked at again at the latest so many days after it was signed. */
  readonly protocolReviewWithinDays: number;
  /** Its owner is reminded from so many days before that day on. */
  readonly protocolRemindDays: number;
  /** 1 lets who wrote a protocol sign it too; 0 asks for a second person. */
  readonly protocolAuthorMaySign: number;
  /** Days without an entry after which somebody on no watch leaves the ward's tablets. */
  readonly quietPatientDays: number;
  /** Minutes for which somebody of another ward may open a patient of this one, with a reason; 0 lets nobody. */
  readonly openWithReasonMin: number;
  /** Absent: never signed. Set by the signature alone, not by hand. */
  readonly lengthening?: Lengthening | undefined;
  /** The unit's own starting figures of the estimate, learnt from its finished watches. Absent: the shipped ones. */
  readonly ownFigures?: UnitFactors | undefined;
}

/** The settings that are numbers. */
export type UnitNumbers = Omit<UnitSettings, 'lengthening' | 'ownFigures'>;

export const defaultSettings: UnitNumbers = {
  graceMin: 10, // S-common-practice
  climbToChargeMin: 0, // S-common-practice: the charge nurse sees it as soon as it is overdue
  climbToNoticeMin: 15, // S-common-practice
  unitLimitMl: 500, // S-clinical-E6
  ownLimitLowestMl: 200, // S-clinical-C16
  ownLimitHighestMl: 800, // S-clinical-E4
  residualWithinMin: 15, // S-clinical-D7: unit sheets allow 10 to 30
  pairWithinMin: 30, // S-common-practice
  duplicateWithinMin: 5, // S-common-practice
  duplicateWithinMl: 5, // S-common-practice
  smallVoidMl: 150, // S-clinical-E18
  lowResidualMl: 100, // S-clinical-E14
  lowResidualsToEnd: 2, // S-clinical-E14b
  overLimitTolerance: 0.05, // S-common-practice
  forwardAtLeastMin: 15, // S-common-practice: what the forecast can tell apart
  tossUpLow: 0.1, // S-common-practice
  tossUpHigh: 0.9, // S-common-practice
  repeatSharedShare: 0.7, // S-repeat-share
  repeatSharedByOtherShare: 0.4, // S-common-practice: a guess, between the device alone and the same person
  callReplyMin: 15, // S-common-practice
  catheterCountHour: 6, // S-clinical-I3: the same time each day; which hour is the unit's
  plainRateLowMlPerH: 100, // S-clinical-E10
  plainRateHighMlPerH: 200, // S-clinical-E10
  lockAfterS: 60, // S-common-practice
  badgeAloneOpens: 0, // S-common-practice: a badge that was found opens nothing
  offlineForH: 13, // S-common-practice: a shift of twelve hours and its handovers
  offlineTriesAtMost: 10, // S-common-practice
  falseHighShare: 0.5, // S-clinical-L2: published cases drained 9 to 50 % of what was read
  questionFrom: 0.45, // S-made-question-score
  lengthenPairsAtLeast: 100, // S-made-hit-rate
  lengthenHitsAtLeast: 0.8, // S-made-hit-rate
  lengthenForDays: 90, // S-made-hit-rate
  protocolReviewWithinDays: 730, // S-common-practice: two years
  protocolRemindDays: 60, // S-common-practice
  protocolAuthorMaySign: 0, // S-common-practice: four eyes
  openWithReasonMin: 60, // S-common-practice
  quietPatientDays: 60, // S-common-practice: the unit's page looks back eight weeks
};
