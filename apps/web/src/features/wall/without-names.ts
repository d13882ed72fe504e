import type { Directory, Role } from '@ebbline/core/record';

/** The directory with every person's role in place of name and initials: what a corridor may read. */
export function withoutNames(directory: Directory, roleWords: Readonly<Record<Role, string>>): Directory {
  return {
    ...directory,
    people: directory.people.map((person) => ({
      ...person,
      name: roleWords[person.role],
      initials: roleWords[person.role],
    })),
  };
}
