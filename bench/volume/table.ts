/** Plain tables for a terminal: the first column to the left, figures to the right. */
export function tableText(head: readonly string[], rows: readonly (readonly string[])[]): string {
  const all = [head, ...rows];
  const widths = head.map((_, column) => Math.max(...all.map((row) => (row[column] ?? '').length)));
  return all
    .map((row) =>
      `  ${row.map((cell, column) => (column === 0 ? cell.padEnd(widths[column] ?? 0) : cell.padStart(widths[column] ?? 0))).join('  ')}`.trimEnd(),
    )
    .join('\n');
}

export const say = (text: string): void => {
  process.stdout.write(`${text}\n`);
};
export const middle = (values: readonly number[]): number =>
  values.toSorted((a, b) => a - b)[Math.floor(values.length / 2)] ?? Number.NaN;
export const spread = (values: readonly number[], digits = 1): string =>
  `${Math.min(...values).toFixed(digits)} to ${Math.max(...values).toFixed(digits)}`;
export const figure = (value: number, digits = 1): string =>
  Number.isFinite(value) ? value.toFixed(digits) : 'none';
/** User and system time of this process since it began, ms. */
export const cpuMs = (): number => {
  const { user, system } = process.cpuUsage();
  return (user + system) / 1000;
};
