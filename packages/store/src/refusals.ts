import { refuse, type Refusal } from '@ebbline/core/quantity';

/** The id is taken by an entry with other content. Entries are added, never edited. */
export function idReused(): Refusal {
  return refuse('store/id-reused', {
    asked: 'Entry',
    found: 'an id that is kept already, with other content',
    allowed: 'a new id, or the same entry word for word',
    todo: 'Make a new entry that corrects the old one.',
    where: 'id',
  });
}

/** The entry belongs to another organisation than this store. */
export function otherOrganisation(): Refusal {
  return refuse('store/other-organisation', {
    asked: 'Entry',
    found: 'another organisation',
    allowed: 'entries of the organisation that this store is kept for',
    todo: 'Check which server the tablet is connected to.',
    where: 'organisation',
  });
}

export function notARecord(): Refusal {
  return refuse('store/not-a-record', {
    asked: 'Record',
    found: 'a file that is no database',
    allowed: 'record.sqlite as this program writes it, or none yet',
    todo: 'Give the right folder, or put the last copy of the record in its place.',
  });
}
