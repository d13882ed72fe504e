/**
 * Published volume coefficients k of V = k · W · H · D, as data.
 *
 * A shape label is only a row of a named table: "ellipsoid" is 0.802 in children, 0.81 in adults, and neither is
 * the geometric π/6. Nothing here turns a word into a number without the name of its table.
 *
 * Units     none (a ratio)
 * Errors    geometry/unknown-coefficient, geometry/table-not-named, geometry/unknown-shape, geometry/table-off
 * Source    S-clinical-A1 to S-clinical-A13, S-clinical-A22, S-clinical-A23
 */
import { controlIsOn, refuse, type Refusal } from '../quantity/index.ts';

export type CoefficientTable = 'geometric' | 'children-by-shape' | 'adults-by-shape' | 'single-figure';
export type ShapeLabel =
  | 'whole-sample'
  | 'round'
  | 'cuboid'
  | 'ellipsoid'
  | 'triangular'
  | 'triangular-prism'
  | 'undefined';

export interface PublishedCoefficient {
  /** Stable name, kept with the reading: `A5`, `A1-0.52`. */
  readonly id: string;
  readonly coefficient: number;
  readonly table: CoefficientTable;
  /** Shape label of the table; absent where the row is not by shape. */
  readonly shape?: ShapeLabel;
  readonly population: string;
  readonly coefficientSource: string;
  readonly grade: 'verified' | 'from memory';
  /** Said by the source about itself. */
  readonly caution?: string;
}

const row = (
  id: string,
  coefficient: number,
  table: CoefficientTable,
  population: string,
  extra: { shape?: ShapeLabel; grade?: 'from memory'; caution?: string; source?: string } = {},
): PublishedCoefficient => ({
  id,
  coefficient,
  table,
  population,
  coefficientSource: extra.source ?? `S-clinical-${id.split('-')[0]}`,
  grade: extra.grade ?? 'verified',
  ...(extra.shape === undefined ? {} : { shape: extra.shape }),
  ...(extra.caution === undefined ? {} : { caution: extra.caution }),
});

const children = '146 children, 9 months to 17 years';
const adults = 'adults, urodynamics';

/** Every published coefficient we know of, in the order of the clinical table. */
export const publishedCoefficients: readonly PublishedCoefficient[] = Object.freeze([
  row('A1', Math.PI / 6, 'geometric', 'any: an exact ellipsoid'),
  row('A1-0.52', 0.52, 'single-figure', '1,663 healthy children', {
    caution: 'π/6 cut to two digits: 0.7 % lower',
  }),
  row('A1-0.5', 0.5, 'single-figure', 'any', { caution: 'rounded: 4.5 % below π/6' }),
  row('A2', 0.66, 'children-by-shape', children, { shape: 'whole-sample' }),
  row('A3', 0.561, 'children-by-shape', children, { shape: 'round' }),
  row('A4', 0.923, 'children-by-shape', children, { shape: 'cuboid' }),
  row('A5', 0.802, 'children-by-shape', children, { shape: 'ellipsoid' }),
  row('A6', 0.623, 'children-by-shape', children, { shape: 'triangular' }),
  row('A7', 0.749, 'children-by-shape', children, { shape: 'undefined' }),
  row('A8-whole', 0.72, 'adults-by-shape', adults, { shape: 'whole-sample', grade: 'from memory' }),
  row('A8-ellipsoid', 0.81, 'adults-by-shape', adults, { shape: 'ellipsoid', grade: 'from memory' }),
  row('A8-cuboid', 0.89, 'adults-by-shape', adults, { shape: 'cuboid', grade: 'from memory' }),
  row('A8-triangular-prism', 0.66, 'adults-by-shape', adults, {
    shape: 'triangular-prism',
    grade: 'from memory',
  }),
  row('A9', 0.7, 'single-figure', 'children, point of care', { caution: 'stated error 15 to 35 %' }),
  row('A10', 0.625, 'single-figure', 'general, emergency ultrasound'),
  row('A11', 0.52, 'single-figure', 'adults, nephrology teaching'),
  row('A11-0.75', 0.75, 'single-figure', 'adults, nephrology teaching'),
  row('A11-0.66', 0.66, 'single-figure', 'adults, nephrology teaching'),
  row('A22', 0.6, 'single-figure', 'residual urine', { caution: 'its source calls it a minimum estimate' }),
  row('A23', 0.5, 'single-figure', 'adults', {
    caution: 'too large for small volumes, too small for large ones',
  }),
]);

/** The row of this id, or a refusal. There is no default row. */
export function coefficientById(id: string): PublishedCoefficient | Refusal {
  return (
    publishedCoefficients.find((one) => one.id === id) ??
    refuse('geometry/unknown-coefficient', {
      asked: 'Volume coefficient',
      found: `"${id.slice(0, 40)}"`,
      allowed: publishedCoefficients.map((one) => one.id).join(', '),
      todo: 'Choose one of the published coefficients.',
    })
  );
}

/**
 * The coefficient that a named table gives to a shape label.
 *
 * Domain    table children-by-shape, or adults-by-shape once the unit has accepted figures written from memory
 * Not for   a geometric ellipsoid: ask for row A1 by its id
 */
export function coefficientForShape(
  shape: string,
  choice: { readonly table?: string; readonly acceptFromMemory?: boolean },
): PublishedCoefficient | Refusal {
  const tables = ['children-by-shape', 'adults-by-shape'];
  const named = choice.table !== undefined && tables.includes(choice.table);
  if (!named && controlIsOn('shape-label-needs-table')) {
    return refuse('geometry/table-not-named', {
      asked: 'Volume coefficient by shape',
      found: choice.table === undefined ? 'no table' : `table "${choice.table.slice(0, 40)}"`,
      allowed: tables.join(' or '),
      todo: 'Say whether the children table or the adult table is meant; the same word has another figure in each.',
    });
  }
  if (!named) return publishedCoefficients[0] as PublishedCoefficient;
  const rows = publishedCoefficients.filter((one) => one.table === choice.table);
  const found = rows.find((one) => one.shape === shape);
  if (!found) {
    return refuse('geometry/unknown-shape', {
      asked: 'Volume coefficient by shape',
      found: `"${shape.slice(0, 40)}"`,
      allowed: rows.map((one) => one.shape).join(', '),
      todo: 'Choose a shape of this table, or a coefficient by its number.',
    });
  }
  if (found.grade === 'from memory' && choice.acceptFromMemory !== true) {
    return refuse('geometry/table-off', {
      asked: 'Volume coefficient by shape',
      found: 'a table whose print nobody has read',
      allowed: 'a table the unit has accepted',
      todo: 'Use another coefficient, or let the unit accept this table first.',
    });
  }
  return found;
}
