// The local codes, published as a FHIR CodeSystem so that a receiver can look them up.
import { words } from './word-lists.ts';
import { codeTable, localSystem, type CodeTable } from './codes.ts';
import { resource, type Resource } from './resource.ts';

export function localCodeSystem(codes: CodeTable = codeTable): Resource {
  return resource('CodeSystem', 'bladder-watch', {
    url: localSystem,
    name: 'BladderWatch',
    title: 'Bladder watch',
    status: 'active',
    content: 'complete',
    caseSensitive: true,
    concept: [...Object.entries(codes).map(([code, row]) => ({ code, display: row.text })), ...words()],
  });
}
