// Proves     a draft comes back to its author and to nobody else, and an empty one leaves nothing behind.
// Tolerance  exact.
import { describe, expect, it } from 'vitest';
import { emptyDraft, write } from './draft.ts';
import { draftInMemory, draftOnTablet, forgetDraft, keepDraft } from './drafts.ts';

const draft = write(emptyDraft('reading', 'p-1'), 'volumeMl', '430');

describe('drafts', () => {
  it('come back to the author who left them', async () => {
    keepDraft('kl', draft);
    expect(draftInMemory('kl', 'p-1', 'reading')).toEqual(draft);
    expect(await draftOnTablet('kl', 'p-1', 'reading')).toEqual(draft);
  });

  it('are not shown to another author, patient or form', async () => {
    keepDraft('kl', draft);
    expect(await draftOnTablet('da', 'p-1', 'reading')).toBeUndefined();
    expect(await draftOnTablet('kl', 'p-2', 'reading')).toBeUndefined();
    expect(await draftOnTablet('kl', 'p-1', 'void')).toBeUndefined();
  });

  it('are forgotten when they were saved, or when nothing is left in them', () => {
    keepDraft('kl', draft);
    forgetDraft('kl', 'p-1', 'reading');
    expect(draftInMemory('kl', 'p-1', 'reading')).toBeUndefined();
    keepDraft('kl', draft);
    keepDraft('kl', emptyDraft('reading', 'p-1', { scanner: 'b' }), { scanner: 'b' });
    expect(draftInMemory('kl', 'p-1', 'reading')).toBeUndefined();
  });
});
