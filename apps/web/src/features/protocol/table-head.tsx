import type { ReactNode } from 'react';
import { columnTitle, outputTitle, type CompiledTable } from '@ebbline/protocol';

/** What each column of a table asks and says. `out` styles those that say. */
export function TableHead({
  table,
  out,
}: {
  readonly table: CompiledTable;
  readonly out: string | undefined;
}): ReactNode {
  return (
    <thead>
      <tr>
        <th scope="col">Row</th>
        {table.inputs.map((name) => (
          <th key={name} scope="col">
            {columnTitle(name)}
          </th>
        ))}
        {table.outputs.map((name) => (
          <th key={name} scope="col" className={out}>
            {outputTitle(name)}
          </th>
        ))}
      </tr>
    </thead>
  );
}
