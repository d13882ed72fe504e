/** The entries behind a statement, as a table shows them. */
export type WhyRows = readonly {
  readonly id: string;
  readonly time: string;
  readonly what: string;
  readonly volume: string;
  readonly by: string;
}[];
