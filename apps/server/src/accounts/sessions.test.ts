// Proves     sessions and tries in memory keep their ports' promises
// Published  none
// Tolerance  exact
import { createSessions } from './sessions.ts';
import { sessionsContract, triesContract } from './sessions.contract.ts';
import { createTries } from './tries.ts';

sessionsContract('memory', async (lockAfterS) => createSessions(lockAfterS));
triesContract('memory', async () => createTries());
