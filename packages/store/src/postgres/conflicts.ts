/**
 * Which failures of the database pass by themselves. Codes are SQLSTATE, as the database's own manual lists them.
 * S-postgres-error-codes
 */

const codeOf = (problem: unknown): string | undefined => {
  const code = (problem as { readonly code?: unknown } | undefined)?.code;
  return typeof code === 'string' ? code : undefined;
};

/** Two at once: serialization failure, deadlock, a lock not given in time, two that made the same table at once. */
const conflicts: ReadonlySet<string> = new Set(['40001', '40P01', '55P03', '23505', '42P07', '42P06']);
/** The same, for rows: a doubled key there is a fault of ours, no conflict. */
const rowConflicts: ReadonlySet<string> = new Set(['40001', '40P01', '55P03']);

export const isConflict = (problem: unknown): boolean => conflicts.has(codeOf(problem) ?? '');
export const isRowConflict = (problem: unknown): boolean => rowConflicts.has(codeOf(problem) ?? '');

/** Class 57P: the server is shut down, or somebody ended the connection; class 08: the connection itself. */
const endings = /^(?:57P0[1-5]|08[0-9A-Z]{3})$/;
const networkEndings: ReadonlySet<string> = new Set([
  'ECONNRESET',
  'ECONNREFUSED',
  'EPIPE',
  'ETIMEDOUT',
  'ENOTFOUND',
  'EAI_AGAIN',
  'EHOSTUNREACH',
]);
const driversWords =
  /^Connection terminated|^Client has encountered a connection error|timeout exceeded when trying to connect/;

/** The connection is gone; another may be had. */
export function isConnectionLost(problem: unknown): boolean {
  const code = codeOf(problem);
  if (code !== undefined && (endings.test(code) || networkEndings.has(code))) return true;
  return problem instanceof Error && driversWords.test(problem.message);
}
