/** No voids, no leaks, no drains, nothing wrong outright; everybody starts and fills alike: what a linear filter can follow. */
import { priorFor, type FillingPrior } from '../prior.ts';

export const linear: FillingPrior = {
  ...priorFor('resting'),
  startLogSd: 0,
  startFullShare: 0,
  inflowMlPerH: 80,
  personLogSd: 0,
  inflowLogSd: 0,
  nightInflowShare: 1,
  poorlyEmptiesShare: 0,
  hardlyEmptiesShare: 0,
  notYetEmptiesShare: 0,
  voidsLowPerH: 0,
  voidsHighPerH: 0,
  limitDrainsPerH: 0,
  routineDrainsPerH: 0,
  otherDrainsPerH: 0,
  cutShare: 0,
  otherFluidShare: 0,
  otherFluidAgainShare: 0,
  offTargetShare: 0,
  anyhowWrongShare: 0,
  mistakenShare: 0,
};
