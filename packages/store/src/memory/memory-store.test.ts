// Proves     the memory adapter keeps the port's promises
// Published  none
// Tolerance  exact
import { storeContract } from '../store.contract.ts';
import { organisation } from '../testing/entries.ts';
import { openMemoryStore } from './index.ts';

storeContract('memory', async (onStep) => openMemoryStore({ organisation, ...(onStep ? { onStep } : {}) }));
