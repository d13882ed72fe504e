/**
 * Intraclass correlation of Shrout and Fleiss: forms 1, 2 and 3, for one rater and for the mean of all.
 *
 * Domain    a full table: at least 2 people (rows) by 2 raters (columns)
 * Source    S-shrout-fleiss-1979; intervals of form 2 with Satterthwaite's degrees of freedom
 */
import { refuse, type Refusal } from '../quantity/index.ts';
import { badList, mean, sum } from './check.ts';
import { fQuantile, fUpperTail } from './distributions.ts';

export interface IntraclassForm {
  readonly correlation: number;
  readonly f: number;
  readonly above: number;
  readonly below: number;
  readonly p: number;
  readonly low: number;
  readonly high: number;
}

export interface Intraclass {
  readonly oneWay: IntraclassForm;
  readonly random: IntraclassForm;
  readonly fixed: IntraclassForm;
  readonly oneWayMean: IntraclassForm;
  readonly randomMean: IntraclassForm;
  readonly fixedMean: IntraclassForm;
}

export function intraclass(table: readonly (readonly number[])[]): Intraclass | Refusal {
  const k = table[0]?.length ?? 0;
  const n = table.length;
  const bad = badList('Intraclass correlation', table.flat(), 4);
  if (bad) return bad;
  if (n < 2 || k < 2 || table.some((row) => row.length !== k)) {
    return refuse('statistics/not-a-table', {
      asked: 'Intraclass correlation',
      found: `${n} rows of unequal or too short length`,
      allowed: 'a full table, at least 2 by 2',
      todo: 'Leave out people who were not measured by all.',
    });
  }
  const all = mean(table.flat());
  const rowMeans = table.map((row) => mean(row));
  const columnMeans = Array.from({ length: k }, (_, column) =>
    mean(table.map((row) => row[column] as number)),
  );
  const total = sum(table.flat().map((value) => (value - all) ** 2));
  const people = k * sum(rowMeans.map((value) => (value - all) ** 2));
  const raters = n * sum(columnMeans.map((value) => (value - all) ** 2));
  const msPeople = people / (n - 1);
  const msWithin = (total - people) / (n * (k - 1));
  const msRaters = raters / (k - 1);
  const msError = (total - people - raters) / ((n - 1) * (k - 1));
  const q = 0.975;
  const [df, dfWithin, dfError] = [n - 1, n * (k - 1), (n - 1) * (k - 1)];

  const simple = (ms: number, below: number): { one: IntraclassForm; mean: IntraclassForm } => {
    const f = msPeople / ms;
    const [fl, fu] = [f / fQuantile(q, df, below), f * fQuantile(q, below, df)];
    const base = { f, above: df, below, p: fUpperTail(f, df, below) };
    return {
      one: {
        ...base,
        correlation: (msPeople - ms) / (msPeople + (k - 1) * ms),
        low: (fl - 1) / (fl + k - 1),
        high: (fu - 1) / (fu + k - 1),
      },
      mean: { ...base, correlation: (msPeople - ms) / msPeople, low: 1 - 1 / fl, high: 1 - 1 / fu },
    };
  };
  const one = simple(msWithin, dfWithin);
  const three = simple(msError, dfError);

  const random = (msPeople - msError) / (msPeople + (k - 1) * msError + (k * (msRaters - msError)) / n);
  const fRaters = msRaters / msError;
  const part = n * (1 + (k - 1) * random) - k * random;
  const degrees =
    ((k - 1) * (n - 1) * (k * random * fRaters + part) ** 2) /
    ((n - 1) * k * k * random * random * fRaters * fRaters + part * part);
  const [fUp, fLow] = [fQuantile(q, df, degrees), fQuantile(q, degrees, df)];
  const spread = k * msRaters + (k * n - k - n) * msError;
  const low = (n * (msPeople - fUp * msError)) / (fUp * spread + n * msPeople);
  const high = (n * (fLow * msPeople - msError)) / (spread + n * fLow * msPeople);
  const stepUp = (value: number): number => (value * k) / (1 + value * (k - 1));
  const base = { f: three.one.f, above: df, below: dfError, p: three.one.p };
  return {
    oneWay: one.one,
    random: { ...base, correlation: random, low, high },
    fixed: three.one,
    oneWayMean: one.mean,
    randomMean: {
      ...base,
      correlation: (msPeople - msError) / (msPeople + (msRaters - msError) / n),
      low: stepUp(low),
      high: stepUp(high),
    },
    fixedMean: three.mean,
  };
}
