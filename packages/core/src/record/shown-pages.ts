/** Pages that show a record; the ward's record takes no other. */
export const shownPages = [
  'patient',
  'entry',
  'images',
  'telephone',
  'new-patient',
  'board',
  'handover',
  'unit',
  'wall',
  'protocol',
  'practice',
  'who-looked',
  'who-looked-printed',
] as const;
export type ShownPage = (typeof shownPages)[number];
export const isShownPage = (page: string): page is ShownPage =>
  (shownPages as readonly string[]).includes(page);
