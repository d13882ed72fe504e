/** What every page is given: the parts of its address after its own name. `#/patient/p-4/record` → ['p-4', 'record']. */
export interface PageProps {
  readonly path: readonly string[];
}
