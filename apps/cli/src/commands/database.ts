/** The database that a verb is about. Its address may hold a password: it is never printed. */

/** What the command line says, else the environment; an empty one is none. */
export const databaseOf = (options: { readonly database?: string }): string | undefined =>
  options.database ?? (process.env['EBBLINE_DATABASE'] || undefined);

export const organisationSaid = (): string | undefined => process.env['EBBLINE_ORGANISATION'] || undefined;

/** Where it is, for eyes: without account and password. */
export function databasePlace(url: string): string {
  const { host, pathname } = new URL(url);
  return `${host || 'this machine'}${pathname}`;
}
