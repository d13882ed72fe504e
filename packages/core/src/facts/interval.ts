import { wilsonInterval } from '../statistics/index.ts';
import { isRefusal } from '../quantity/index.ts';

/** 95 % Wilson interval of a share, per cent; undefined when there is nothing to divide by or the count exceeds it. */
export function proportionInterval(count: number, of: number): { low: number; high: number } | undefined {
  if (of <= 0 || count > of) return undefined;
  const interval = wilsonInterval(count, of);
  return isRefusal(interval) ? undefined : { low: interval.low * 100, high: interval.high * 100 };
}
