import { startTransition, useEffect, useState } from 'react';

/** More than a screen of rows; the rest follows in portions that no hand has to wait for. */
const atFirst = 24;
const portion = 30;

/** How many of so many rows to draw: a screenful at once, then more after each painting, until all are there. */
export function useGrowing(count: number): number {
  const [drawn, setDrawn] = useState(atFirst);
  const growing = drawn < count;
  useEffect(() => {
    if (!growing) return;
    const timer = setTimeout(() => startTransition(() => setDrawn(drawn + portion)), 0);
    return () => clearTimeout(timer);
  }, [drawn, growing]);
  return drawn;
}
