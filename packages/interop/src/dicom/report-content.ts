/**
 * Content items of a structured report as DICOM elements: codes, words, numbers, references, containers.
 *
 * Source    DICOM PS3.3 C.17.3 (S-dicom-ps3.3)
 */
import { sequence, text, type OutElement } from './write-elements.ts';

export interface Code {
  readonly value: string;
  readonly scheme: 'DCM' | 'SCT' | 'LN' | 'UCUM' | 'RFC5646' | typeof ownScheme;
  readonly meaning: string;
}

type Relationship = 'CONTAINS' | 'HAS OBS CONTEXT' | 'HAS ACQ CONTEXT' | 'HAS CONCEPT MOD' | 'INFERRED FROM';

/** Codes of our own, for what no public table names. */
export const ownScheme = '99EBBLINE';

export const code = (value: string, scheme: Code['scheme'], meaning: string): Code => ({
  value,
  scheme,
  meaning,
});
export const own = (value: string, meaning: string): Code => code(value, ownScheme, meaning);

export const codeItem = ({ value, scheme, meaning }: Code): readonly OutElement[] => [
  text(0x0008_0100, 'SH', value),
  text(0x0008_0102, 'SH', scheme),
  text(0x0008_0104, 'LO', meaning),
];

/** An item of the tree: its elements, to be put under its parent. */
export type Content = readonly OutElement[];

function content(
  relationship: Relationship,
  type: string,
  name: Code,
  value: readonly OutElement[],
  children: readonly Content[] = [],
): Content {
  return [
    text(0x0040_a010, 'CS', relationship),
    text(0x0040_a040, 'CS', type),
    sequence(0x0040_a043, codeItem(name)),
    ...value,
    ...(children.length > 0 ? [sequence(0x0040_a730, ...children)] : []),
  ];
}

export const coded = (
  relationship: Relationship,
  name: Code,
  value: Code,
  children?: readonly Content[],
): Content => content(relationship, 'CODE', name, [sequence(0x0040_a168, codeItem(value))], children);

export const worded = (relationship: Relationship, name: Code, words: string): Content =>
  content(relationship, 'TEXT', name, [text(0x0040_a160, 'UT', words)]);

export const uidReference = (relationship: Relationship, name: Code, uid: string): Content =>
  content(relationship, 'UIDREF', name, [text(0x0040_a124, 'UI', uid)]);

export const personNamed = (relationship: Relationship, name: Code, person: string): Content =>
  content(relationship, 'PNAME', name, [text(0x0040_a123, 'PN', person)]);

export const container = (name: Code, children: readonly Content[], template?: string): Content =>
  content('CONTAINS', 'CONTAINER', name, containerValue(template), children);

export const containerValue = (template?: string): readonly OutElement[] => [
  text(0x0040_a050, 'CS', 'SEPARATE'),
  ...(template === undefined
    ? []
    : [sequence(0x0040_a504, [text(0x0008_0105, 'CS', 'DCMR'), text(0x0040_db00, 'CS', template)])]),
];

/** A number with its unit; `value` as it is to be written, to at most sixteen characters. */
export const numbered = (name: Code, value: string, unit: Code, children?: readonly Content[]): Content =>
  content(
    'CONTAINS',
    'NUM',
    name,
    [sequence(0x0040_a300, [text(0x0040_a30a, 'DS', value), sequence(0x0040_08ea, codeItem(unit))])],
    children,
  );

/** A number that was asked for and could not be had, with the reason. */
export const notNumbered = (name: Code, why: Code, children?: readonly Content[]): Content =>
  content('CONTAINS', 'NUM', name, [sequence(0x0040_a300), sequence(0x0040_a301, codeItem(why))], children);

export interface SourceImage {
  readonly studyUid: string;
  readonly seriesUid: string;
  readonly sopClassUid: string;
  readonly sopInstanceUid: string;
}

export const reference = ({ sopClassUid, sopInstanceUid }: SourceImage): readonly OutElement[] => [
  text(0x0008_1150, 'UI', sopClassUid),
  text(0x0008_1155, 'UI', sopInstanceUid),
];

export const image = (relationship: Relationship, name: Code, source: SourceImage): Content =>
  content(relationship, 'IMAGE', name, [sequence(0x0008_1199, reference(source))]);
