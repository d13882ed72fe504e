// Types of the reference tables, taken from the files themselves; they are read with `referenceTable`.
import type agreement from '../../../../../conformance/data/statistics/agreement-1986.json';
import type competing from '../../../../../conformance/data/statistics/competing-risks.json';
import type content from '../../../../../conformance/data/statistics/content-filter.json';
import type charts from '../../../../../conformance/data/statistics/control-charts.json';
import type nile from '../../../../../conformance/data/statistics/nile-local-level.json';
import type raters from '../../../../../conformance/data/statistics/raters.json';
import type shares from '../../../../../conformance/data/statistics/shares-and-rates.json';
import type shrunken from '../../../../../conformance/data/statistics/shrunken-normal.json';
import type survival from '../../../../../conformance/data/statistics/survival.json';

export interface Tables {
  readonly 'agreement-1986': typeof agreement;
  readonly 'competing-risks': typeof competing;
  readonly 'content-filter': typeof content;
  readonly 'control-charts': typeof charts;
  readonly 'nile-local-level': typeof nile;
  readonly raters: typeof raters;
  readonly 'shares-and-rates': typeof shares;
  readonly 'shrunken-normal': typeof shrunken;
  readonly survival: typeof survival;
}
