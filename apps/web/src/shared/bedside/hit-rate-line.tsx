import type { ReactNode } from 'react';
import { hitRateSentences } from '@ebbline/core/present';
import { useHitRate } from './use-hit-rate.ts';

/** Under a forecast: how often the estimate's ranges held what was measured, on this ward and on all. */
export function HitRateLine({ ward }: { readonly ward: string }): ReactNode {
  const rates = useHitRate(ward);
  return (
    <p className="quiet" data-hit-rate="">
      {rates === undefined
        ? 'Counting how often the forecast was right…'
        : hitRateSentences(rates.ward, rates.everywhere).join(' ')}
    </p>
  );
}
