import { labels } from '@ebbline/core/present';
import type { EntryKind } from '@ebbline/core/record';

/** What an entry of this kind is called on a screen. */
export const labelOfKind = (kind: EntryKind): string => labels.kinds[kind];
